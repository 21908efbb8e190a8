"""Pages the walks do not come by, inspected all the same; ``test_every_address.py`` has the rest.

Whatever is wrong is noted while a page is looked at (``inspection.py``) and fails the test at its
end; the last tests here show that it would.
"""

from __future__ import annotations

from tests.e2e.inspection import AXE, inspect
from tests.e2e.people import Crew, Person
from tests.e2e.prepared import Prepared
from tests.e2e.server import Server


def lead_of(server: Server, crew: Crew) -> Person:
    server.start()
    lea = crew.person("Lea")
    lea.become_lead(server.lead_link)
    return lea


def test_pages_of_somebody_who_is_not_signed_in(server: Server, crew: Crew) -> None:
    server.start()
    passer_by = crew.person("a passer-by")
    passer_by.open(f"{server.address}/j/7K3MQ2XD")
    passer_by.page.get_by_label("Your name").fill("Nobody")
    with passer_by.watch.refused(422):
        passer_by.tap(passer_by.button("Join"))
    with passer_by.watch.refused(404):
        passer_by.open(f"{server.address}/c/0123456789ABCDEFGHJKMNPQRS")


def test_pages_of_a_lead(server: Server, crew: Crew) -> None:
    job = Prepared(server, until="fasteners.measure:C1")
    lea = lead_of(server, crew)
    lea.open(f"{server.address}/people")
    lea.tap(lea.button("Make a link for my other device"))
    lea.open(f"{server.address}/jobs/new")
    with lea.watch.refused(422):
        lea.tap(lea.page.get_by_role("button", name="Save as a new job"))
    with lea.watch.refused(404):
        lea.open(f"{server.address}/jobs/ABCDEFGH")
    lea.open(f"{job.address}/label")
    lea.tap(lea.button("Make a card"))


def test_pages_of_an_installer_in_the_dark_look(server: Server, crew: Crew) -> None:
    job = Prepared(server, until="fasteners.measure:C2")
    server.start()
    ivo = crew.person("Ivo")
    ivo.join(server.address, job.code, tape="Inch fractions", hand="Right hand")
    ivo.open(f"{job.address}/phone/all")
    ivo.tap(ivo.button("Dark look"))
    for path in ("way/C2", "way/D1", "fasteners.mark:D1?look=readout"):
        ivo.open(f"{job.address}/phone/{path}")
    ivo.open(f"{job.address}/phone/fasteners.measure:C2")
    ivo.do("fasteners.measure:C2", {"x": "15 7/16", "above": "5 1/8"})
    assert ivo.heading == "C2 is set"
    assert ivo.page.locator('html[data-look="dark"]').count(), "the phone's own screens keep it"
    with ivo.watch.refused(404):
        ivo.open(f"{job.address}/phone/fasteners.mark:Z9")


def test_pages_for_when_something_goes_wrong(server: Server, crew: Crew) -> None:
    """A reading with choices to make, another panel in a place, a sheet of paper typed in."""
    job = Prepared(server, until="fasteners.measure:C2")
    lea = lead_of(server, crew)
    ivo = crew.person("Ivo")
    ivo.join(server.address, job.code, tape="Millimetres", hand="Left hand")
    ivo.open(f"{job.address}/sheet")
    ivo.open(ivo.page.locator('a[href*="type-in"]').first.evaluate("(link) => link.href"))
    assert "From paper sheet" in ivo.main.inner_text()
    ivo.open(f"{job.address}/phone/fasteners.measure:C2")
    ivo.do("fasteners.measure:C2", {"above": "122"})
    ivo.all_sent()
    ivo.page.wait_for_url("**/result/*")
    ivo.page.reload()
    ivo.look()
    assert "What next for C2?" in ivo.main.inner_text()
    for person in (ivo, lea):
        person.open(f"{job.address}/phone/swap/C")
        assert "Another panel" in person.heading


# -- the inspection itself -------------------------------------------------------------------------


def test_an_inspection_sees_what_is_wrong(server: Server, crew: Crew) -> None:
    server.start()
    someone = crew.person("someone")
    someone.open(server.address)
    assert inspect(someone.page) == []
    someone.page.evaluate("""
        const wide = document.createElement("input");
        wide.id = "nameless";
        wide.style.width = "500px";
        const thumb = document.createElement("div");
        thumb.className = "thumb";
        thumb.innerHTML = "<a href='/'>x</a>";
        const under = document.createElement("div");
        under.className = "thumb";
        under.innerHTML = "<a class='button' href='/'>under</a>";
        const lid = document.createElement("i");
        lid.style.cssText = "position: fixed; inset: 0; z-index: 9; pointer-events: auto";
        const parted = document.createElement("p");
        parted.textContent = "20 3/4 in";
        parted.style.width = "5ch";
        const dark = document.createElement("p");
        dark.textContent = "dark on dark";
        dark.style.color = "#0a3d91";
        const hand = document.createElement("p");
        hand.className = "number-hand";
        hand.innerHTML = "21 <sup>3</sup>";
        hand.firstElementChild.style.fontSize = "12px";
        const drawn = document.createElement("div");
        drawn.innerHTML = `<svg viewBox="0 0 90 40"><rect width="90" height="40" fill="#777"/>
          <text x="9" y="30" font-size="30" fill="#555">48</text></svg>`;
        const main = document.getElementById("main");
        main.classList.add("task");
        main.append(wide, thumb, under, lid, parted, dark, hand, drawn);
    """)
    found = inspect(someone.page)
    in_order = iter(found)
    for words in (
        *("sideways at 390 px", "thumb at 390 px", "arm's length at 390 px"),
        'parted at the end of a line at 390 px: "20 3/4 in"',
        *("sideways at 320 px", "thumb at 320 px", "arm's length at 320 px"),
        'parted at the end of a line at 320 px: "20 3/4 in"',
        *("sideways with text at 200%", "sideways twice as large", "out of reach twice as large"),
        "a drawing without words",
        *("daylight: label", "daylight: pale: 1.66:1 <text"),
        *("dark: color-contrast", "dark: pale: 1.87:1 <p", "dark: pale: 1.66:1 <t"),
    ):
        assert words in next(in_order)
    assert not list(in_order)
    assert someone.page.locator('html[data-look="daylight"]').count(), "left as it was found"


def test_a_watch_sees_what_is_wrong(server: Server, crew: Crew) -> None:
    server.start()
    someone = crew.person("someone")
    someone.open(server.address)
    assert crew.faults == []
    someone.page.evaluate("""
        document.getElementById("main").insertAdjacentHTML("beforeend", "<p style='color: red'>");
        setTimeout(() => { throw new Error("thrown late"); });
    """)
    someone.page.route("**/lost", lambda route: route.abort())
    with someone.page.expect_event("requestfailed"):
        someone.page.evaluate("fetch('/lost').catch(() => null)")
    someone.page.goto(f"{server.address}/nowhere")
    found = "\n".join(crew.faults)
    for words in ("Content Security Policy", "thrown late", "/lost failed", "/nowhere: 404"):
        assert words in found
    crew.faults.clear()


def test_axe_is_the_file_it_was() -> None:
    from hashlib import sha256

    assert sha256(AXE.read_bytes()).hexdigest() in AXE.with_name("README.md").read_text()
