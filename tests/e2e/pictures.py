"""The pictures of the README, made anew from the demo job: ``python -m tests.e2e.pictures``.

Run it after a change of the phone's look, look at what it made, and commit that. It needs Chromium
and the packages of the tests.
"""

from __future__ import annotations

import os
import sys
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

from holdtrue.demo import demo_document
from tests.conftest import CHROMIUM_FLAGS, NO_CHROMIUM, find_chromium
from tests.e2e.people import Crew, Person
from tests.e2e.prepared import Prepared
from tests.e2e.server import new_server

FOLDER = Path(__file__).resolve().parents[2] / "static" / "pictures"
COLOURS = 64
"""More than the look has; what is left over goes to the soft edges of the letters."""
ADDRESS = "http://hang.example.org"


def keep(name: str, picture: bytes) -> None:
    """A screenshot as a small file."""
    shot = Image.open(BytesIO(picture)).convert("RGB")
    path = FOLDER / f"{name}.png"
    shot.quantize(COLOURS, dither=Image.Dither.NONE).save(path, optimize=True)
    sys.stdout.write(f"{path} {path.stat().st_size} bytes\n")


def take(crew: Crew) -> None:
    with new_server() as server:
        job = Prepared(server, document=demo_document(), until="fasteners.mark:C1")
        server.start()
        ivo, lea = crew.person("Ivo"), crew.person("Lea")
        lea.become_lead(server.lead_link)
        ivo.join(server.address, job.code, tape="Inch fractions", hand="Right hand")
        take_phone(ivo)
        pages = lea.page.url.rstrip("/")
        server.stop()
        # the code on the label is to lead where a reader expects it to
        server.start("--public-url", ADDRESS)
        lea.open(f"{pages}/jobs/{job.job_id}/label")
        lea.tap(lea.button("Make a card"))
        lea.open(f"{lea.page.url}?size=a6&crate=1&crates=4&panels=A")
        keep("label", lea.page.locator(".label-sheet").screenshot())


def take_phone(ivo: Person) -> None:
    """A mark, and what moves after B1 came out where the reference log has it."""
    ivo.go_to("Mark B2")
    ivo.work(until="fasteners.mark:B1")
    keep("mark", ivo.page.screenshot())
    ivo.work(until="fasteners.pilot:B2")
    ivo.go_to("Pilot B1")
    ivo.work(until="fasteners.measure:B1")
    ivo.do("fasteners.measure:B1", {"x": "22 1/8", "above": "5 3/16"})
    keep("moves", ivo.page.screenshot())


def main() -> None:
    path = find_chromium()
    if path is None:
        sys.exit(NO_CHROMIUM)
    FOLDER.mkdir(exist_ok=True)
    flags = [*CHROMIUM_FLAGS, *(["--no-sandbox"] if os.geteuid() == 0 else [])]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=flags)
        crew = Crew(browser)
        take(crew)
        crew.close()
        browser.close()


if __name__ == "__main__":
    main()
