"""Opens the pages of small results in a headless Chromium without network and checks what a reader meets.

    python tests/browser/check.py [--tossline target/debug/tossline] [--chromium /usr/bin/chromium]
    python tests/browser/check.py --picture OUT.png --of REPORT.html     # takes the picture of a page for the README

Expected values come from the CSV files beside the pages, and from WCAG 2.2 (contrast 4.5, large text 3, checked in page.js).
"""

import argparse
import csv
import json
import pathlib
import re
import sys
import tempfile

from playwright.sync_api import sync_playwright

import results

HERE = pathlib.Path(__file__).resolve().parent
LOOK = (HERE / "page.js").read_text()
# A phone, a tablet, a desk.
WIDTHS = (360, 768, 1280)
# A4 less the page's margins of 12 mm, at 96 px to the inch.
PRINTED_WIDTH = round((210 - 2 * 12) / 25.4 * 96)
failures = []


def expect(holds, words):
    if not holds:
        failures.append(words)
        print(f"  FAILED {words}")


class Opened:
    """A page in a context of its own, whose network is off; what it says and asks for is kept."""

    def __init__(self, browser, path, **context):
        self.context = browser.new_context(offline=True, **context)
        self.page = self.context.new_page()
        self.said, self.asked = [], []
        self.page.on("console", lambda message: self.said.append(f"{message.type}: {message.text}"))
        self.page.on("pageerror", lambda error: self.said.append(f"error: {error}"))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.address = path.as_uri()
        self.page.goto(self.address)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.context.close()

    def was_quiet(self, name):
        expect(not self.said, f"{name}: the console says {self.said}")
        others = [url for url in self.asked if url != self.address]
        expect(self.asked and not others, f"{name}: asks for {others or 'nothing'}")


def at_every_width(browser, name, path):
    for width in WIDTHS:
        for scheme in ("light", "dark"):
            with Opened(browser, path, viewport={"width": width, "height": 800}, color_scheme=scheme) as opened:
                where = f"{name}, {width} px, {scheme}"
                wide = opened.page.evaluate("document.scrollingElement.scrollWidth")
                expect(wide <= width, f"{where}: {wide} px wide")
                for wrong in opened.page.evaluate(LOOK):
                    expect(False, f"{where}: {wrong}")
                dark = opened.page.evaluate("getComputedStyle(document.body).backgroundColor")
                expect((dark == "rgb(255, 255, 255)") == (scheme == "light"), f"{where}: paper is {dark}")
                opened.was_quiet(where)


def by_keyboard(browser, name, path):
    """Tab reaches links, pictures and tables; arrow keys move a picture's readout and no other picture loses it."""
    with Opened(browser, path, viewport={"width": 1280, "height": 800}) as opened:
        page = opened.page
        wanted = page.evaluate(
            """() => { const all = [...document.querySelectorAll('a[href], [tabindex], button, input, summary')];
                       all.forEach((node, i) => { node.dataset.place = i; }); return all.length; }"""
        )
        reached = set()
        for _ in range(wanted + 2):
            page.keyboard.press("Tab")
            at = page.evaluate("document.activeElement.dataset.place ?? null")
            if at is not None:
                reached.add(int(at))
        expect(wanted > 5 and len(reached) == wanted, f"{name}: Tab reaches {len(reached)} of {wanted}")
        for plot in page.query_selector_all(".plot"):
            plot.focus()
            page.keyboard.press("Home")
            first = plot.query_selector(".readout").inner_text()
            page.keyboard.press("ArrowRight")
            second = plot.query_selector(".readout").inner_text()
            page.keyboard.press("ArrowLeft")
            again = plot.query_selector(".readout").inner_text()
            expect(first != second and first == again, f"{name}: arrow keys: {first!r}, {second!r}, {again!r}")
        opened.was_quiet(name)


def printed(browser, name, path):
    with Opened(browser, path, viewport={"width": PRINTED_WIDTH, "height": 1000}, color_scheme="dark") as opened:
        page = opened.page
        page.emulate_media(media="print", color_scheme="dark")
        paper = page.evaluate("getComputedStyle(document.body).backgroundColor")
        expect(paper == "rgb(255, 255, 255)", f"{name}: printed on {paper}")
        cut = page.evaluate(
            """() => [...document.querySelectorAll('main, main *')]
                 .filter((node) => !node.closest('svg') && node.getBoundingClientRect().right > innerWidth + 1)
                 .map((node) => node.tagName + ' ' + node.textContent.trim().slice(0, 30))"""
        )
        expect(not cut, f"{name}: cut off in print: {cut[:3]}")
        hidden = page.evaluate(
            """() => [...document.querySelectorAll('main *')].filter((node) => {
                 const style = getComputedStyle(node);
                 return style.overflowX !== 'visible' && !node.closest('svg') && node.scrollWidth > node.clientWidth + 1; }).length"""
        )
        expect(hidden == 0, f"{name}: {hidden} boxes scroll in print")


def without_script(browser, name, path):
    with Opened(browser, path, java_script_enabled=False, viewport={"width": 360, "height": 800}) as opened:
        text = opened.page.inner_text("main")
        expect("Cautions" in text and "Point at" not in text, f"{name}: without script")


def shown(readout, name, unit):
    """The number a readout says of a curve, and the time of its row."""
    for span in readout.query_selector_all("span"):
        if span.get_attribute("data-series") == name:
            said = re.search(rf": (-?[\d.]+) {re.escape(unit)}", span.inner_text())
            return float(said.group(1)), float(span.get_attribute("data-row"))
    return None


def hover_says_the_row(browser, folder, name="step-in-calm", trajectory="step-in-calm/trajectory.csv"):
    """Along every time chart of a flight the readout says what its trajectory has at that time."""
    with open(folder / trajectory, newline="") as file:
        # As the page has them: shown to 0.01 s, kept three digits further.
        rows = {round(float(row["time_s"]), 5): row for row in csv.DictReader(file)}
    columns = {"Height": ("height_m", "m", 2), "Pitch": ("pitch_deg", "deg", 1), "Airspeed": ("airspeed_m_s", "m/s", 2)}
    with Opened(browser, folder / "report.html", viewport={"width": 1280, "height": 900}) as opened:
        page = opened.page
        for title, (column, unit, decimals) in columns.items():
            plot = page.locator(".plot", has=page.locator("figcaption", has_text=re.compile(f"^{title}$")))
            plot.scroll_into_view_if_needed()
            box = plot.locator("svg.chart").bounding_box()
            seen = set()
            for share in (0.2, 0.35, 0.5, 0.65, 0.8):
                page.mouse.move(box["x"] + share * box["width"], box["y"] + 0.5 * box["height"])
                said = shown(plot.locator(".readout").element_handle(), name, unit)
                expect(said is not None, f"hover: {title} says nothing")
                value, time = said
                seen.add(time)
                if time not in rows:
                    expect(False, f"hover: {title}: no row at {time} s")
                    continue
                exact = float(rows[time][column])
                # Rounded once on writing the page, three digits further, and once on showing it.
                expect(abs(value - exact) <= 0.5006 * 10**-decimals, f"hover: {title} at {time} s: {value}, the file has {exact}")
                visible = plot.locator(".cursor[visibility=visible]").count()
                expect(visible > 0, f"hover: {title}: no mark at {time} s")
            expect(len(seen) == 5, f"hover: {title}: the readout stays at {seen}")
        opened.was_quiet("hover")


def hover_says_the_landing(browser, folder):
    """A hovered landing is one of landings.csv, and the one under the pointer."""
    with open(folder / "landings.csv", newline="") as file:
        rows = {int(row["throw"]): row for row in csv.DictReader(file)}
    with Opened(browser, folder / "report.html", viewport={"width": 1280, "height": 900}) as opened:
        page = opened.page
        plot = page.locator(".plot").first
        for i in range(plot.locator("circle.landing").count()):
            circle = plot.locator("circle.landing").nth(i)
            circle.scroll_into_view_if_needed()
            box = circle.bounding_box()
            page.mouse.move(box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"])
            span = plot.locator(".readout span").first
            north, east = map(float, re.findall(r"(-?[\d.]+) m (?:north|east)", span.inner_text()))
            row = rows[int(float(span.get_attribute("data-row")))]
            expect(abs(north - float(row["end_north_m"])) <= 0.0501 and abs(east - float(row["end_east_m"])) <= 0.0501, f"landing {i}: {north}, {east}, the file has {row['end_north_m']}, {row['end_east_m']}")
        opened.was_quiet("landings")


def hover_says_the_throw(browser, folder):
    """A hovered throw of every scatter picture is one of flights.csv, with its field and its column."""
    with open(folder / "flights.csv", newline="") as file:
        rows = {int(row["flight"]): row for row in csv.DictReader(file)}
    with Opened(browser, folder / "report.html", viewport={"width": 1280, "height": 900}) as opened:
        page = opened.page
        pictures = page.locator(".plot[data-x=x]")
        expect(pictures.count() > 1, f"sweep: {pictures.count()} pictures of throws")
        for i in range(pictures.count()):
            plot = pictures.nth(i)
            plot.scroll_into_view_if_needed()
            title = plot.locator("figcaption").inner_text()
            words, field = title.split(" over ", 1)
            box = plot.locator("svg.chart").bounding_box()
            page.mouse.move(box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"])
            span = plot.locator(".readout span").first
            row = rows[int(float(span.get_attribute("data-row")))]
            # Of the file's columns the one that is called so, unit at its end.
            column = next(name for name in row if name.startswith(words.lower().replace(" ", "_")))
            for said, exact in zip(re.findall(r"(-?\d+(?:\.\d+)?) ", span.inner_text().split(": ", 1)[1]), (row[column], row[field])):
                slack = 0.502 * 10 ** -len(said.partition(".")[2])
                expect(abs(float(said) - float(exact)) <= slack, f"{title}: {said}, the file has {exact}")
        opened.was_quiet("throws of a sweep")


def hover_says_the_answer(browser, folders):
    """Readouts of ground speeds say what wind.json has, those of the greatest mass what weight.json has."""
    report = json.loads((folders["wind"] / "wind.json").read_text())["penetration"]
    with Opened(browser, folders["wind"] / "report.html", viewport={"width": 1280, "height": 900}) as opened:
        page = opened.page
        for key, list_of in (("as_set_m_s", "as_set"), ("level_m_s", "level_with_tab")):
            plot = page.locator(f".plot[data-y={key}]")
            plot.focus()
            page.keyboard.press("Home")
            for i, wind in enumerate(report["winds_m_s"]):
                readout = plot.locator(".readout")
                expect(f"wind against it {wind:.1f} m/s" in readout.inner_text(), f"wind: {readout.inner_text()}")
                for row in report[list_of]:
                    said = shown(readout.element_handle(), f"throttle {row['throttle_fraction']:.2f}", "m/s")
                    exact = row["ground_speed_m_s"][i]
                    expect(said is not None and abs(said[0] - exact) <= 0.00501, f"{key} in {wind} m/s: {said}, the file has {exact}")
                page.keyboard.press("ArrowRight")
        opened.was_quiet("ground speeds")
    report = json.loads((folders["greatest mass"] / "weight.json").read_text())
    with Opened(browser, folders["greatest mass"] / "report.html", viewport={"width": 1280, "height": 900}) as opened:
        plot = opened.page.locator(".plot").first
        plot.focus()
        opened.page.keyboard.press("End")
        text = plot.locator(".readout").inner_text()
        greatest, ends = report["carries"]["tab_re_set"], report["margin"]["tab_re_set"]
        expect(f"{greatest['tab']['name']} re-set" in text, f"greatest mass: {text}")
        said = [float(number) for number in re.findall(r"(-?[\d.]+) g", text)]
        exact = [greatest["mass_g"], ends["greatest_mass_low_g"] or 0, ends["greatest_mass_high_g"]]
        expect(len(said) == 3 and all(abs(a - b) <= 0.0501 for a, b in zip(said, exact)), f"greatest mass: {said}, the file has {exact}")
        opened.was_quiet("greatest mass")


def links_lead_somewhere(browser, name, path):
    with Opened(browser, path) as opened:
        links = opened.page.eval_on_selector_all("a[href]", "nodes => nodes.map(node => node.getAttribute('href'))")
        expect(links, f"{name}: no link")
        for link in links:
            expect((path.parent / link).is_file(), f"{name}: {link} leads nowhere")


def is_text(browser, name, path):
    """What looks like markup in a note stands on the page as text."""
    with Opened(browser, path) as opened:
        expect(results.MARKUP in opened.page.inner_text("main"), f"{name}: the note is not shown as it is")
        expect(opened.page.title() != "run" and opened.page.locator("img").count() == 0, f"{name}: the note was obeyed")


def take_picture(browser, path, out):
    """The page's beginning, to the end of its second section."""
    # Without script there is no room kept for readouts.
    with Opened(browser, path, viewport={"width": 1180, "height": 900}, java_script_enabled=False) as opened:
        sections = opened.page.locator("main > section")
        last = sections.nth(min(1, sections.count() - 1)).bounding_box()
        height = round(last["y"] + last["height"] + 16)
        opened.page.screenshot(path=out, clip={"x": 0, "y": 0, "width": 1180, "height": height}, full_page=True)


def check(browser, tossline):
    with tempfile.TemporaryDirectory() as temporary:
        folders = results.make(tossline, pathlib.Path(temporary))
        for name, folder in folders.items():
            print(name)
            path = folder / "report.html"
            at_every_width(browser, name, path)
            by_keyboard(browser, name, path)
            printed(browser, name, path)
            without_script(browser, name, path)
            links_lead_somewhere(browser, name, path)
            if name not in results.WITHOUT_NOTE:
                is_text(browser, name, path)
        hover_says_the_row(browser, folders["one flight"])
        hover_says_the_row(browser, folders["flights"])
        hover_says_the_landing(browser, folders["footprint"])
        hover_says_the_throw(browser, folders["sweep"])
        hover_says_the_row(browser, folders["airframes compared"], "before: dunlin", "before/trajectory.csv")
        hover_says_the_row(browser, folders["results compared"], "after: step-in-calm", "../after/step-in-calm/trajectory.csv")
        hover_says_the_answer(browser, folders)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--tossline", default=str(results.WORKSPACE / "target/debug/tossline"))
    parser.add_argument("--chromium", default="/usr/bin/chromium")
    parser.add_argument("--picture", help="take a picture of a page instead of checking")
    parser.add_argument("--of", type=pathlib.Path, help="the page to take a picture of")
    arguments = parser.parse_args()
    with sync_playwright() as playwright:
        # Nothing can be looked up, whatever a page asks for.
        switches = ["--no-sandbox", "--host-resolver-rules=MAP * ~NOTFOUND"]
        browser = playwright.chromium.launch(executable_path=arguments.chromium, args=switches)
        if arguments.picture:
            take_picture(browser, arguments.of.resolve(), arguments.picture)
        else:
            check(browser, arguments.tossline)
        browser.close()
    print(f"{len(failures)} failed" if failures else "pages hold")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
