"""GET /jobs/ID/photos/DIGEST: to members of the job, with the type it was kept under."""

from __future__ import annotations

from holdtrue.domain.review import photos
from holdtrue.service import jobs
from holdtrue.service.services import Services
from tests import walking
from tests.web.conftest import Visitor


def digest_of(services: Services, job_id: str) -> str:
    return photos(services.store.read(jobs.stream_of(job_id)))[0].digest


def test_it_works(lead: Visitor, clean: str, services: Services) -> None:
    url = f"/jobs/{clean}/photos/{digest_of(services, clean)}"
    assert f'src="{url}"' in lead.get(f"/jobs/{clean}/review").text
    answer = lead.get(url)
    assert answer.data == walking.JPEG
    assert answer.mimetype == "image/jpeg"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Cache-Control"] == "no-store"


def test_a_blob_that_is_not_of_this_job_is_not_given_out(
    lead: Visitor, clean: str, services: Services
) -> None:
    other = services.store.put_blob(b"\xff\xd8\xff another wall")
    assert lead.get(f"/jobs/{clean}/photos/{other}").status_code == 404
    assert lead.get(f"/jobs/{clean}/photos/{'0' * 64}").status_code == 404
    assert lead.get(f"/jobs/{clean}/photos/..%2fsecret.key").status_code == 404


def test_strangers_and_installers_of_other_jobs_see_none(
    stranger: Visitor, installer: Visitor, clean: str, services: Services
) -> None:
    url = f"/jobs/{clean}/photos/{digest_of(services, clean)}"
    assert stranger.get(url).headers["Location"] == "/"
    assert installer.get(url).status_code == 404
