"""The call sheet on a phone: a call goes in by taps and keys, and comes out as a case file that the reader takes."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Download, Locator, Page

from causebook import knowledge
from causebook.casefile import read_case
from causebook.casefile.marked_yaml import parse
from causebook.casefile.model import CaseFile
from causebook.problems import errors
from make_library import DEMO, make_project
from projects import Project

CALLS = Path(__file__).parent / "calls"
PHONE = {"width": 390, "height": 844}
KNOWN = knowledge.load()


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A site of one case, which is enough for the sheet."""
    import shutil

    root = make_project(tmp_path_factory.mktemp("sheet") / "project")
    shutil.copytree(DEMO / "narrow-return", root / "casefiles" / "narrow-return")
    said = Project(root).build()
    assert said.status == 0, said.said
    return root / "site"


@pytest.fixture
def phone(browser: Browser, site: Path) -> Iterator[Page]:
    """The sheet, opened from a folder on a phone; anything the page complains of fails the test."""
    noticed: list[str] = []
    context = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True, accept_downloads=True)
    page = context.new_page()
    page.set_default_timeout(8000)
    page.on("console", lambda m: m.type == "error" and noticed.append(m.text))
    page.on("pageerror", lambda e: noticed.append(str(e)))
    page.goto((site / "sheet/index.html").as_uri())
    yield page
    context.close()
    assert not noticed, noticed


class Thumb:
    """One thumb on the sheet, its taps and keys counted."""

    def __init__(self, page: Page) -> None:
        self.page, self.taps, self.keys = page, 0, 0

    def tap(self, where: Locator) -> None:
        where.click()
        self.taps += 1

    def button(self, name: str) -> None:
        self.tap(self.page.get_by_role("button", name=name, exact=True).first)

    def type(self, label: str, text: str) -> None:
        field = self.page.get_by_label(label, exact=True).first
        self._unfold(field)
        field.fill(text)
        self.taps += 1
        self.keys += len(text)

    def choose(self, label: str, value: str, within: Locator | None = None) -> None:
        field = (within or self.page).get_by_label(label, exact=True).first
        self._unfold(field)
        field.select_option(value)
        self.taps += 2

    def find(self, group: str, name: str, field: Locator) -> None:
        """Find a reading or a look that is not among the first of its family, by its first word."""
        if field.count() == 0:
            search = self.page.locator("div:has(> h3)").filter(has=self.page.get_by_role("heading", name=group))
            box = search.get_by_label("Find another")
            box.fill(name)
            self.taps, self.keys = self.taps + 1, self.keys + min(len(name), 6)

    def _unfold(self, field: Locator) -> None:
        fold = field.locator("xpath=ancestor::details[1]")
        if fold.count() and fold.get_attribute("open") is None:
            self.tap(fold.locator("summary").first)

    def read(self, name: str, text: str) -> None:
        reading = KNOWN.readings[KNOWN.resolve(name)]
        number = text.split()[0]
        field = self.page.get_by_role("textbox", name=reading.name, exact=True)
        self.find("Readings", reading.name, field)
        sign = self.page.get_by_role("button", name=f"Below zero: {reading.name}", exact=True)
        if sign.count() and (sign.get_attribute("aria-pressed") == "true") != number.startswith("-"):
            self.tap(sign)
        self.type(reading.name, number.lstrip("-"))

    def see(self, name: str, answer: str) -> None:
        finding = KNOWN.findings[KNOWN.resolve(name)]
        group = self.page.get_by_role("group", name=finding.name, exact=True)
        self.find("What you see", finding.name, group)
        self.tap(
            group.get_by_role("button", name={"yes": "Yes", "no": "No", "unclear": "Not sure"}[answer], exact=True)
        )

    def save(self) -> bytes:
        with self.page.expect_download() as waited:
            self.button("Save the file")
        return content(waited.value)


def content(download: Download) -> bytes:
    return Path(download.path()).read_bytes()


def plain(text: str) -> dict[str, Any]:
    tree, problems = parse(text.encode(), Path("case.yml"))
    assert tree is not None and not problems
    return tree.plain()


def taken(zipped: bytes, folder: Path) -> Path:
    with zipfile.ZipFile(io.BytesIO(zipped)) as archive:
        archive.extractall(folder)
    return folder


def start(thumb: Thumb, family: str) -> None:
    thumb.button("New call")
    thumb.tap(thumb.page.get_by_role("button", name=KNOWN.families[KNOWN.resolve(family)].name).first)


def enter(thumb: Thumb, call: dict[str, Any]) -> bytes:
    """Enter a whole case file, as a person does who knows what it must become."""
    page = thumb.page
    start(thumb, call["complaint"]["family"])
    thumb.type("In the customer's words", call["complaint"]["words"])
    (visit,) = call["visits"]
    begun = True
    for step in visit["steps"]:
        if not begun:
            thumb.button("Next step")
        side = "After repair" if step.get("after") else "Before repair"
        if page.get_by_role("button", name=side, exact=True).get_attribute("aria-pressed") != "true":
            thumb.button(side)
        thumb.type("What you did", step["do"])
        if "told" in step:
            thumb.type("What came of it", step["told"])
        for name, text in step.get("read", {}).items():
            thumb.read(name, text)
        for name, answer in step.get("seen", {}).items():
            thumb.see(name, answer)
        for key, title in (("with", "For this step only"), ("changed", "What you changed")):
            for part, how in step.get(key, {}).items():
                fold = page.locator("details").filter(has=page.locator("summary", has_text=title)).first
                thumb.choose("Part", part, fold)
                thumb.choose("Now", how, fold)
        begun = "changed" in step
    for block in ("site", "furnace", "blower"):
        for key, value in call.get(block, {}).items():
            for path, text in (
                ((f"{key} {inner}", t) for inner, t in value.items()) if isinstance(value, dict) else ((key, value),)
            ):
                label = {"site": path, "furnace": f"plate {path}", "blower": f"blower {path}"}[block].capitalize()
                plate(thumb, label, text)
    for role, causes in visit["concluded"].items():
        for name, why in causes.items():
            if role == "stop closed":
                thumb.choose("End a stop notice", KNOWN.resolve(name))
                thumb.type(f"Ended: {KNOWN.stops[KNOWN.resolve(name)].name}, by", why)
                continue
            thumb.choose("As", role)
            thumb.choose("Cause", KNOWN.resolve(name))
            thumb.type(f"{role.capitalize()}: {KNOWN.causes[KNOWN.resolve(name)].name}, because", why)
    thumb.type("Title: symptom, then cause or equipment", call["title"])
    thumb.type("Date", visit["date"])
    if "outcome" in call:
        thumb.choose("How it ended", call["outcome"])
    if "customer" in call:
        thumb.type("For the customer, in plain words", call["customer"])
    return thumb.save()


def plate(thumb: Thumb, label: str, text: str) -> None:
    field = thumb.page.get_by_label(label, exact=True).first
    thumb._unfold(field)
    if field.evaluate("e => e.tagName") == "SELECT":
        thumb.choose(label, text)
    elif " to " in text:
        low, _, high = text.partition(" to ")
        thumb.type(label, low)
        thumb.type(f"{label}, highest", high.split()[0])
    else:
        number, _, unit = text.partition(" ")
        minus = number.startswith("-")
        thumb.type(label, f"-{number[1:]}" if minus else number if unit else text)


@pytest.mark.parametrize("name", sorted(p.stem for p in CALLS.glob("*.yml")))
def test_a_call_entered_is_the_file_written_by_hand(phone: Page, tmp_path: Path, name: str) -> None:
    text = (CALLS / f"{name}.yml").read_text(encoding="utf-8")
    by_hand = tmp_path / "by-hand"
    by_hand.mkdir()
    (by_hand / "case.yml").write_text(text, encoding="utf-8")
    wanted, problems = read_case(by_hand, KNOWN)
    assert wanted is not None, problems
    case, problems = read_case(taken(enter(Thumb(phone), plain(text)), tmp_path / "by-sheet"), KNOWN)
    assert case is not None, problems
    assert not differences(said(case.file), said(wanted.file))


def said(file: CaseFile) -> dict[str, Any]:
    return file.model_dump(exclude_defaults=True)


@pytest.mark.parametrize("name", ["narrow-return", "silent-relay", "painted-bond", "summer-ice"])
def test_a_file_opened_and_saved_holds_the_same(phone: Page, name: str) -> None:
    text = (DEMO / name / "case.yml").read_text(encoding="utf-8")
    phone.locator("input[type=file]").first.set_input_files(
        {"name": "case.yml", "mimeType": "text/yaml", "buffer": text.encode()}
    )
    phone.get_by_role("button", name="Save the file").wait_for()
    zipped = Thumb(phone).save()
    with zipfile.ZipFile(io.BytesIO(zipped)) as archive:
        again = archive.read("case.yml").decode()
    assert not differences(same(plain(again)), same(plain(text)))


def differences(one: Any, other: Any, path: str = "") -> list[str]:
    """Where two files differ, as paths."""
    if isinstance(one, dict) and isinstance(other, dict):
        keys = dict.fromkeys([*one, *other])
        return [d for k in keys for d in differences(one.get(k), other.get(k), f"{path}.{k}")]
    if isinstance(one, (list, tuple)) and isinstance(other, (list, tuple)) and len(one) == len(other):
        return [d for n, pair in enumerate(zip(one, other, strict=True)) for d in differences(*pair, f"{path}.{n}")]
    return [] if one == other else [f"{path}: {one!r} instead of {other!r}"]


def same(value: Any, key: str = "") -> Any:
    """A case file with its names in one spelling, a list of one and its item made one, and empty blocks left out."""
    if isinstance(value, dict):
        return {str(k).replace("-", " "): same(v, k) for k, v in value.items() if v != {}}
    if isinstance(value, list):
        return [same(v) for v in value] if len(value) != 1 else same(value[0])
    return value.replace("-", " ") if key == "family" else value


def test_fifteen_readings_six_looks_and_three_photos_take_four_minutes(phone: Page, tmp_path: Path) -> None:
    thumb = Thumb(phone)
    start(thumb, "high limit")
    first = {
        "co indoors": "0", "supply air": "152", "return air": "69", "tap before filter": "-0.36",
        "tap after filter": "-0.63", "tap before coil": "0.23", "tap after coil": "0.10", "meter time": "82.8",
    }  # fmt: skip
    for name, number in first.items():
        thumb.read(name, number)
    for name, answer in {
        "filter dirty": "no",
        "gas smell": "no",
        "wheel dirty": "yes",
        "limit opened while watched": "yes",
    }.items():
        thumb.see(name, answer)
    thumb.tap(phone.locator("label", has_text="Take a photo"))
    phone.locator("input[capture]").set_input_files([photo(f"IMG {n}.JPG") for n in range(3)])
    phone.get_by_label("Photo 3 shows").wait_for()
    thumb.choose(
        "Part",
        "wheel",
        phone.locator("details").filter(has=phone.locator("summary", has_text="What you changed")).first,
    )
    thumb.choose(
        "Now", "clean", phone.locator("details").filter(has=phone.locator("summary", has_text="What you changed")).first
    )
    for name, number in {
        "supply air": "127", "return air": "69", "tap before filter": "-0.30", "tap after filter": "-0.52",
        "tap before coil": "0.31", "tap after coil": "0.14", "supply air at trip": "150",
    }.items():  # fmt: skip
        thumb.read(name, number)
    for name, answer in {"limit opened while watched": "no", "burner off with blower on": "no"}.items():
        thumb.see(name, answer)
    folder = taken(thumb.save(), tmp_path / "call")
    case, problems = read_case(folder, KNOWN)
    assert case is not None and not errors(problems), problems
    assert sum(len(s.readings) for s in case.steps) == 15 and sum(len(s.seen) for s in case.steps) == 6
    assert [p.file.name for _, p in case.photos] == ["1.jpg", "2.jpg", "3.jpg"]
    # Seconds of a tap and a key: pointing 1.1 s with 0.2 s to press, 0.28 s a key of an average typist; Card, Moran,
    # Newell, "The keystroke-level model", CACM 23 (1980) 396-410 (from memory), and 1.35 s of thought before each tap.
    seconds = thumb.taps * (1.1 + 0.2 + 1.35) + thumb.keys * 0.28
    by_editor = len((folder / "case.yml").read_text(encoding="utf-8"))
    print(f"{thumb.taps} taps, {thumb.keys} keys: {seconds:.0f} s; the same file by an editor: {by_editor} keys")
    assert seconds <= 240
    assert thumb.keys < by_editor / 10


def photo(name: str) -> dict[str, Any]:
    """A JPEG of 3 x 2 pixels with a place in its head, as a phone writes it."""
    import PIL.Image

    held = io.BytesIO()
    exif = PIL.Image.Exif()
    exif[0x8825] = {1: "N", 2: (44.0, 30.0, 0.0), 3: "W", 4: (93.0, 15.0, 0.0)}
    exif[0x0112] = 6  # to be turned a quarter
    PIL.Image.new("RGB", (3000, 2000), "white").save(held, "JPEG", exif=exif)
    return {"name": name, "mimeType": "image/jpeg", "buffer": held.getvalue()}


def test_a_photo_is_made_small_and_upright_and_says_nothing_of_its_place(phone: Page) -> None:
    import PIL.Image

    thumb = Thumb(phone)
    start(thumb, "noise")
    thumb.see("whistle at filter", "yes")
    phone.locator("input[capture]").set_input_files(photo("a.jpg"))
    phone.get_by_label("Photo 1 shows").fill("The filter")
    with zipfile.ZipFile(io.BytesIO(thumb.save())) as archive:
        saved = PIL.Image.open(io.BytesIO(archive.read("photos/1.jpg")))
    assert max(saved.size) == 1600 and saved.size[0] < saved.size[1]
    assert not dict(saved.getexif())


def test_what_the_browser_cannot_decode_is_said(phone: Page) -> None:
    thumb = Thumb(phone)
    start(thumb, "noise")
    phone.locator("input[capture]").set_input_files(
        {"name": "IMG_1.HEIC", "mimeType": "image/heic", "buffer": b"\0\0\0\x18ftypheic" + bytes(64)}
    )
    phone.get_by_text("cannot read IMG_1.HEIC").wait_for()


def test_a_draft_survives_a_page_that_dies(phone: Page) -> None:
    thumb = Thumb(phone)
    start(thumb, "high limit")
    thumb.read("supply air", "152")
    phone.get_by_text("Saved on this device").wait_for()
    address = phone.url
    context = phone.context
    again = context.new_page()
    phone.close()
    again.goto(address)
    again.get_by_role("button", name=KNOWN.families["high-limit"].name).first.click()
    assert again.get_by_role("textbox", name=KNOWN.readings["supply-air"].name, exact=True).input_value() == "152"


def test_carbon_monoxide_stops_the_call_at_once(phone: Page) -> None:
    thumb = Thumb(phone)
    start(thumb, "high limit")
    danger = phone.locator(".cb-sheet-danger")
    assert danger.inner_text() == ""
    thumb.read("co indoors", "80")
    danger.get_by_text("Stop use").first.wait_for()


def test_what_the_numbers_make_stands_beside_them(phone: Page) -> None:
    thumb = Thumb(phone)
    start(thumb, "high limit")
    thumb.read("supply air", "152")
    thumb.read("return air", "69")
    plate(thumb, "Plate input", "80000 Btu/h")
    plate(thumb, "Plate rise", "40 to 70 degF")
    made = phone.locator(".cb-sheet-numbers").inner_text()
    assert "Rise 83.0 °F (plate: 40–70)" in made and "Airflow by the rise" in made and "needs at least" in made


def test_the_same_formulas_as_the_core(phone: Page, tmp_path: Path) -> None:
    """Rise, static, input and airflow of the sheet against the workup of the same file."""
    from causebook import quantity as qty
    from causebook.workup import work_up

    text = (DEMO / "narrow-return" / "case.yml").read_text(encoding="utf-8")
    case, _ = read_case(DEMO / "narrow-return", KNOWN)
    assert case is not None
    found = work_up(case, KNOWN).survey.found
    made = phone.evaluate(
        """text => {
            const data = causebookSheet, live = causebookSheetLive(data), call = causebookSheetFile.parse(text);
            call.visits = call.visits.slice(0, 1);
            for (const step of call.visits[0].steps) for (const group of ["read", "seen"]) if (step[group]) {
              step[group] = Object.fromEntries(Object.entries(step[group]).map(([k, v]) => [k.replace(/ /g, "-"), v]));
            }
            const known = live.known(call, false);
            return live.makes(known.read, live.plate(call));
        }""",
        text,
    )
    assert found.static is not None and found.input is not None
    assert made["static"] == pytest.approx(qty.us(found.static.value, qty.AIR_PRESSURE), abs=0.005)
    assert made["input"] == pytest.approx(qty.us(found.input.value, qty.HEAT_RATE), rel=1e-4)


@pytest.mark.parametrize("elevation", [0, 5200])
@pytest.mark.parametrize("back", [60.0, 75.0])
@pytest.mark.parametrize("kind", ["non-condensing", "condensing"])
def test_airflow_by_the_rise_is_that_of_the_core(phone: Page, elevation: int, back: float, kind: str) -> None:
    from causebook import quantity as qty
    from causebook.physics.air import air_state
    from causebook.physics.furnace import airflow_from_rise, output
    from causebook.survey.numbers import constant

    made = phone.evaluate(
        """([read, plate]) => causebookSheetNumbers(causebookSheet.physics)(read, plate)""",
        [
            {"supply-air": back + 70, "return-air": back},
            {"furnace.input": 80000, "furnace.kind": kind, "site.elevation": elevation, "site.room": 70},
        ],
    )
    from dataclasses import replace

    air = replace(
        air_state(qty.q(70, "degF"), qty.q(elevation, "foot"), qty.q(0.30, "")), temperature=qty.q(back, "degF")
    )
    share = qty.q(constant(KNOWN, f"efficiency-{kind}"), "")
    wanted = airflow_from_rise(
        output(qty.parse("80000 Btu/h", qty.HEAT_RATE), share), qty.q(70, "delta_degF"), air.sensible_factor
    )
    assert made["airflow"] == pytest.approx(qty.us(wanted, qty.AIRFLOW), rel=2e-4)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_anybody_can_use_it(phone: Page, scheme: str) -> None:
    phone.emulate_media(color_scheme=scheme)
    thumb = Thumb(phone)
    start(thumb, "high limit")
    thumb.read("supply air", "152")
    for fold in phone.locator("details > summary").all():
        fold.click()
    found = Axe().run(phone, context=".cb-sheet", options={"preload": False})
    assert found.violations_count == 0, found.generate_report()
    assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
