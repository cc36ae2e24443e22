"""Looks through a page in a real browser and prints what is wrong with it as JSON: {check: [fault, ...]}.

usage: check_page.py PAGE.html [--no-3d] [--pictures FOLDER]

Chromium and its driver are Debian's; nothing is downloaded. Contrast is computed after WCAG 2.2 (success
criterion 1.4.3, definition "relative luminance") from the colours that the browser itself resolves.
"""

import base64
import json
import pathlib
import subprocess
import sys
import tempfile
import time
import xml.etree.ElementTree as ET

from selenium import webdriver
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

WIDTHS = (400, 1600)
# WCAG 2.2, 1.4.3: 4.5 for text, 3 for large text (24 px, or 18.66 px and bold).
CONTRAST, CONTRAST_LARGE = 4.5, 3.0
# A4 less the page's margins of 12 mm, at 96 px an inch.
# Change of a cell's mean red, green or blue, of 255, that a renderer's threads make by settling edges
# differently (measured: up to 6).
EDGE_NOISE = 10.0
PRINT_WIDTH = 703

FOCUSABLE = "a[href], button, input, summary, canvas[tabindex], [tabindex='0']"


def browser(profile, three_d=True):
    options = webdriver.ChromeOptions()
    options.binary_location = "/usr/bin/chromium"
    flags = [
        "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
        "--disable-background-networking", "--disable-component-update", "--disable-sync",
        f"--user-data-dir={profile}", "--force-device-scale-factor=1",
        # Scrolls jump instead of gliding, so that no check depends on how fast the machine is.
        "--force-prefers-reduced-motion",
    ]
    flags += ["--use-angle=swiftshader", "--enable-unsafe-swiftshader"] if three_d else ["--disable-3d-apis"]
    for flag in flags:
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    return webdriver.Chrome(options=options, service=Service("/usr/bin/chromedriver"))


class Page:
    def __init__(self, driver, path):
        self.driver = driver
        self.url = pathlib.Path(path).resolve().as_uri()

    def open(self, width, height=900):
        self.driver.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 500},
        )
        self.driver.get(self.url)
        self.frames()

    def js(self, text, *args):
        return self.driver.execute_script(text, *args)

    def frames(self):
        """Waits until two pictures have been drawn."""
        self.driver.execute_async_script(
            "const done = arguments[0]; requestAnimationFrame(() => requestAnimationFrame(done));"
        )

    def press(self, *keys):
        ActionChains(self.driver, duration=0).send_keys(*keys).perform()

    def settle(self):
        """Waits until a scroll has come to its end."""
        where = "return [scrollX, scrollY, document.getElementById('pictures').scrollTop].join()"
        still, before = 0, None
        for _ in range(100):
            now = self.js(where)
            still = still + 1 if now == before else 0
            if still == 4:
                return
            before = now
            self.frames()
            time.sleep(0.05)

    def pixels(self):
        """What the 3D view has drawn: number of colours, share that is not background, mean red, green and blue by cell.

        Cells, because a software renderer's threads may settle single pixels of an edge differently each time.
        """
        self.frames()
        return self.js(
            """
            const c = document.getElementById('space-view'), gl = c.getContext('webgl2');
            const w = c.width, h = c.height, data = new Uint8Array(4 * w * h);
            gl.readPixels(0, 0, w, h, gl.RGBA, gl.UNSIGNED_BYTE, data);
            const words = new Uint32Array(data.buffer), seen = new Map();
            const [wide, high] = [48, 32], cells = new Array(3 * wide * high).fill(0), count = new Array(wide * high).fill(0);
            words.forEach((v, i) => {
              seen.set(v, (seen.get(v) || 0) + 1);
              const k = Math.floor((i % w) * wide / w) + wide * Math.floor(Math.floor(i / w) * high / h);
              for (let c = 0; c < 3; c++) cells[3 * k + c] += data[4 * i + c];
              count[k] += 1;
            });
            return { colours: seen.size, drawn: 1 - (seen.get(words[0]) || 0) / words.length,
                     cells: cells.map((v, k) => v / count[Math.floor(k / 3)]) };
            """
        )


def console(page):
    faults = [f"{e['level']}: {e['message']}" for e in page.driver.get_log("browser") if e["level"] == "SEVERE"]
    return faults


def network(page):
    """The page asks for itself and for nothing else."""
    faults = []
    for entry in page.driver.get_log("performance"):
        message = json.loads(entry["message"])["message"]
        if message["method"] == "Network.requestWillBeSent":
            url = message["params"]["request"]["url"]
            if url.split("#")[0] != page.url and not url.startswith(("data:", "about:")):
                faults.append(f"asks for {url}")
    return faults


def width(page, pixels):
    """Nothing sticks out of the window but inside boxes that scroll by themselves."""
    page.open(pixels)
    page.js("document.querySelectorAll('details').forEach((d) => d.open = true)")
    page.frames()
    return page.js(
        """
        const out = [], root = document.documentElement;
        if (root.scrollWidth > innerWidth) out.push(`the page is ${root.scrollWidth} px wide in ${innerWidth}`);
        for (const e of document.body.querySelectorAll('*')) {
          if (e.closest('.paper, .wide, .unseen, [hidden], script') || !e.getClientRects().length) continue;
          const r = e.getBoundingClientRect();
          if (r.right > innerWidth + 1 || r.left < -1)
            out.push(`${e.tagName} ${e.className} ${(e.textContent || '').slice(0, 30)}: ${r.left} to ${r.right}`);
        }
        return out.slice(0, 20);
        """
    )


def contrast(page):
    """Every text against what lies behind it."""
    found = page.js(
        """
        document.querySelectorAll('details').forEach((d) => d.open = true);
        const rgb = (c) => (c.match(/[\\d.]+/g) || []).map(Number);
        const texts = new Map();
        const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
        while (walk.nextNode()) {
          const node = walk.currentNode, e = node.parentElement;
          if (!node.textContent.trim() || e.closest('script, style, title, [hidden]')) continue;
          const s = getComputedStyle(e), svg = e.closest('svg');
          const ink = rgb(svg ? s.fill : s.color);
          let ground = [255, 255, 255];
          // A balloon's digits stand on the balloon; other words of a picture stand on paper.
          const balloon = e.closest('g.no');
          if (balloon) ground = rgb(getComputedStyle(balloon.querySelector('rect')).fill);
          else if (!svg) for (let p = e; p; p = p.parentElement) {
            const b = rgb(getComputedStyle(p).backgroundColor);
            if (b.length === 3 || (b.length === 4 && b[3] === 1)) { ground = b.slice(0, 3); break; }
            if (b.length === 4 && b[3] !== 0) { ground = ['see-through']; break; }
          }
          const size = parseFloat(s.fontSize), large = size >= 24 || (size >= 18.66 && Number(s.fontWeight) >= 700);
          const key = [ink, ground, large].join('|');
          if (!texts.has(key)) texts.set(key, { ink, ground, large, text: node.textContent.trim().slice(0, 40) });
        }
        return [...texts.values()];
        """
    )

    def luminance(colour):
        linear = [c / 255 / 12.92 if c / 255 <= 0.04045 else ((c / 255 + 0.055) / 1.055) ** 2.4 for c in colour[:3]]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    faults = [] if len(found) >= 6 else [f"only {len(found)} pairs of colours were found"]
    for t in found:
        high, low = sorted((luminance(t["ink"]), luminance(t["ground"])), reverse=True)
        ratio = (high + 0.05) / (low + 0.05)
        if ratio < (CONTRAST_LARGE if t["large"] else CONTRAST):
            faults.append(f"{ratio:.2f} for {t['text']!r}: {t['ink']} on {t['ground']}")
    return faults


def places(page):
    """Every link's marks lie on its picture, on what they mean; hovering shows them, leaving hides them."""
    return page.js(
        """
        const out = [], links = [...document.querySelectorAll('a.go')];
        if (links.length < 20) out.push(`only ${links.length} links`);
        let marked = 0, moved = 0;
        const near = (a, b) => Math.abs(a - b) < 0.11;
        for (const link of links) {
          const words = link.textContent.trim();
          if (!document.getElementById(link.getAttribute('href').slice(1))) { out.push(`${words}: leads nowhere`); continue; }
          link.dispatchEvent(new MouseEvent('mouseover', { bubbles: true, screenX: ++moved }));
          for (const place of (link.dataset.s || '').split(';').filter(Boolean)) {
            const figure = document.getElementById(place.split(':')[0]);
            const wanted = place.slice(place.indexOf(':') + 1).split(' ').filter(Boolean);
            if (!figure) { out.push(`${words}: no picture ${place}`); continue; }
            if (!figure.classList.contains('lit')) out.push(`${words}: ${figure.id} is not lit`);
            const svg = figure.querySelector('svg'), [x, y, w, h] = svg.getAttribute('viewBox').split(' ').map(Number);
            const drawn = [...svg.querySelectorAll('.hi .spot')];
            if (drawn.length !== wanted.length) out.push(`${words}: ${drawn.length} marks for ${wanted.length}`);
            for (const mark of drawn) {
              marked++;
              const b = mark.getBBox();
              if (b.x + b.width < x || b.x > x + w || b.y + b.height < y || b.y > y + h) out.push(`${words}: a mark lies off ${figure.id}`);
            }
            for (const mark of wanted.filter((m) => m[0] === 'c')) {
              const [cx, cy] = mark.slice(1).split(',').map(Number);
              const there = [...svg.querySelectorAll('.rim, .flat')].some((c) =>
                near(+c.getAttribute('cx'), cx) && near(+c.getAttribute('cy'), cy));
              if (!there) out.push(`${words}: no pulley at ${mark}`);
            }
          }
          link.dispatchEvent(new MouseEvent('mouseout', { bubbles: true }));
          if (document.querySelector('.hi, .picture.lit')) out.push(`${words}: still shown after leaving`);
        }
        // What is measured from a hole's centre is marked on that hole.
        let holes = 0;
        for (const rule of document.querySelectorAll('.rule, .card')) {
          if (!/^\\d*(H301|H302) /.test(rule.textContent.trim())) continue;
          for (const link of rule.querySelectorAll('a.go')) {
            const place = link.dataset.s.split(';')[0], svg = document.querySelector(`#${place.split(':')[0]} svg`);
            const points = place.slice(place.indexOf(':') + 1).split(' ').filter((m) => m[0] === 'p').map((m) => m.slice(1).split(',').map(Number));
            const on = points.filter(([px, py]) => [...svg.querySelectorAll('circle.cut')].some((c) =>
              near(+c.getAttribute('cx'), px) && near(+c.getAttribute('cy'), py)));
            if (on.length) holes++;
            // A slot has no circle; its own boundary is a path.
            else if (!svg.querySelector('path.cut')) out.push(`${link.textContent}: marks no hole (${place})`);
          }
        }
        if (!marked) out.push('nothing was marked');
        return out.slice(0, 20);
        """
    )


def click(page):
    """A click on a rule goes to its place, marks it and says so; Escape takes it back."""
    faults = []
    page.open(1600)
    candidates = page.driver.find_elements(By.CSS_SELECTOR, ".card a.go, .rule > .row a.go")
    chosen = [c for c in candidates if c.get_attribute("data-s")]
    if not chosen:
        return ["no rule has a place"]
    # The first, the last, and one between.
    for link in {0: chosen[0], 1: chosen[len(chosen) // 2], 2: chosen[-1]}.values():
        page.js("arguments[0].scrollIntoView({block: 'center', behavior: 'instant'})", link)
        link.click()
        page.settle()
        words = link.text
        if link.get_attribute("aria-current") != "true":
            faults.append(f"{words}: is not marked as chosen")
        state = page.js(
            """
            const link = arguments[0], figure = document.getElementById(link.getAttribute('href').slice(1));
            const mark = figure.querySelector('svg .hi'), r = (mark || figure).getBoundingClientRect();
            return { lit: figure.classList.contains('lit'), marks: !!mark, wants: /:[pcl]/.test(link.dataset.s.split(';')[0]),
                     seen: r.bottom > 0 && r.top < innerHeight && r.right > 0 && r.left < innerWidth,
                     said: document.getElementById('said').textContent, many: document.querySelectorAll('a.go[aria-current]').length,
                     rows: document.querySelectorAll('[data-row].lit').length, parts: (link.dataset.p || '').split(',').filter(Boolean).length };
            """,
            link,
        )
        if not state["lit"] or (state["wants"] and not state["marks"]):
            faults.append(f"{words}: its place is not highlighted: {state}")
        if not state["seen"]:
            faults.append(f"{words}: its place is not in view: {state}")
        if not state["said"].startswith("Shown on"):
            faults.append(f"{words}: nothing is said to a screen reader")
        if state["many"] != 1:
            faults.append(f"{words}: {state['many']} links are chosen")
        if state["rows"] != state["parts"]:
            faults.append(f"{words}: {state['rows']} parts are lit, {state['parts']} are meant")
    page.press(Keys.ESCAPE)
    if page.js("return document.querySelectorAll('a.go[aria-current]').length"):
        faults.append("Escape does not take the choice back")
    return faults


def narrow(page):
    """On a telephone a rule leads to its picture and back."""
    page.open(400)
    link = page.driver.find_element(By.CSS_SELECTOR, "a.go[data-s]")
    page.js("arguments[0].scrollIntoView({block: 'center', behavior: 'instant'})", link)
    link.click()
    page.settle()
    back = page.driver.find_element(By.ID, "back")
    faults = [] if back.is_displayed() else ["there is no way back to the rule"]
    visible = "const r = arguments[0].getBoundingClientRect(); return r.bottom > 0 && r.top < innerHeight;"
    if not page.js(visible, page.driver.find_element(By.CSS_SELECTOR, link.get_attribute("hash"))):
        faults.append("the picture is not in view")
    if back.is_displayed():
        back.click()
        page.settle()
        if not page.js(visible, link):
            faults.append("the rule is not in view after going back")
    return faults


def keyboard(page):
    """Tab reaches every control once, in the order of the page, with a focus that can be seen; Enter chooses."""
    page.open(1600)
    wanted = page.js(
        """
        const all = [...document.querySelectorAll(arguments[0])].filter((e) => !e.disabled && e.checkVisibility());
        all.forEach((e, i) => (e.dataset.tab = i));
        return all.length;
        """,
        FOCUSABLE,
    )
    faults, seen = [], []
    entered = False
    for _ in range(wanted + 5):
        page.press(Keys.TAB)
        at = page.js(
            """
            const e = document.activeElement, s = getComputedStyle(e);
            return { tab: e.dataset.tab === undefined ? -1 : Number(e.dataset.tab), go: e.matches('a.go[data-s]'),
                     what: `${e.tagName} ${e.id} ${(e.textContent || '').trim().slice(0, 30)}`,
                     ring: s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2,
                     marked: !e.matches('a.go[data-s]') || !!document.querySelector('.picture.lit') };
            """
        )
        if at["tab"] < 0:
            break
        seen.append(at["tab"])
        if not at["ring"]:
            faults.append(f"{at['what']}: its focus cannot be seen")
        if not at["marked"]:
            faults.append(f"{at['what']}: focus shows no place")
        if at["go"] and not entered:
            entered = True
            page.press(Keys.ENTER)
            if page.js("return document.activeElement.getAttribute('aria-current')") != "true":
                faults.append(f"{at['what']}: Enter does not choose it")
    if seen != list(range(wanted)):
        missing = sorted(set(range(wanted)) - set(seen))
        names = page.js(
            "return arguments[0].map((i) => document.querySelector(`[data-tab='${i}']`).outerHTML.slice(0, 80))", missing[:5]
        )
        faults.append(f"{len(seen)} of {wanted} controls in order {seen[:5]}..., missing {names}")
    return faults[:20]


def space(page):
    """The 3D view draws, turns, zooms, comes apart, hides parts and lights the parts of a rule."""
    page.open(1600)
    faults = []
    canvas = page.driver.find_element(By.ID, "space-view")
    page.js("arguments[0].scrollIntoView({block: 'center', behavior: 'instant'})", canvas)
    start = page.pixels()
    if start["colours"] < 30 or not 0.05 < start["drawn"] < 0.95:
        faults.append(f"hardly anything is drawn: {start}")

    def moves(what, do, back):
        before = page.pixels()["cells"]

        def changed():
            """Sum of the changes of the cells' mean colours; single pixels of an edge change a cell by less than counts."""
            changes = (abs(a - b) for a, b in zip(before, page.pixels()["cells"]))
            return sum(c for c in changes if c > EDGE_NOISE)

        do()
        there = changed()
        back()
        left = changed()
        # A renderer's noise on edges is far below any of these changes.
        if there < 100 or left > 0.2 * there:
            faults.append(f"{what} changes the picture by {there:.0f}, and undone by {left:.0f}")

    focus = lambda: page.js("arguments[0].focus()", canvas)  # noqa: E731
    reset = lambda: (focus(), page.press("0"))  # noqa: E731
    focus()
    moves("an arrow key", lambda: page.press(Keys.ARROW_LEFT), reset)
    moves("the plus key", lambda: page.press("+"), reset)
    moves("dragging", lambda: ActionChains(page.driver, duration=20).drag_and_drop_by_offset(canvas, 60, 20).perform(), reset)
    moves(
        "the wheel",
        lambda: page.js(
            "arguments[0].dispatchEvent(new WheelEvent('wheel', {deltaY: -200, bubbles: true, cancelable: true}))", canvas
        ),
        reset,
    )
    for name in ("front", "side", "top"):
        button = page.driver.find_element(By.CSS_SELECTOR, f"[data-look={name}]")
        moves(f"the view {name}", button.click, page.driver.find_element(By.CSS_SELECTOR, "[data-look=reset]").click)
    slider = page.driver.find_element(By.ID, "space-apart")
    moves("the slider", lambda: (page.js("arguments[0].focus()", slider), page.press(Keys.END)), lambda: page.press(Keys.HOME))
    page.js("document.querySelector('details.parts').open = true")
    box = page.driver.find_element(By.CSS_SELECTOR, "[data-part]")
    moves("hiding a part", lambda: (page.js("arguments[0].focus()", box), page.press(Keys.SPACE)), lambda: page.press(Keys.SPACE))
    link = page.driver.find_element(By.CSS_SELECTOR, "a.go[data-p]")
    moves("choosing a rule", lambda: page.js("arguments[0].click()", link), lambda: page.js("choose(null)"))
    return faults


def missing_space(page):
    """Without WebGL the page says so in words and works on."""
    page.open(1600)
    faults = []
    if not page.driver.find_element(By.ID, "space-missing").is_displayed():
        faults.append("nothing is said of the missing 3D view")
    if page.driver.find_element(By.ID, "space-view").is_displayed():
        faults.append("an empty 3D view is shown")
    return faults


def printed(page, pictures):
    """On paper nothing is cut off: neither a box's content nor a word at the sheet's edge."""
    page.open(1600)
    page.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    page.driver.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": PRINT_WIDTH, "height": 1000, "deviceScaleFactor": 1, "mobile": False},
    )
    page.frames()
    faults = page.js(
        """
        const out = [];
        for (const e of document.body.querySelectorAll('*')) {
          if (e.closest('svg, .unseen, script') || !e.getClientRects().length) continue;
          const s = getComputedStyle(e), r = e.getBoundingClientRect();
          const what = `${e.tagName} ${e.className} ${(e.textContent || '').trim().slice(0, 30)}`;
          if (r.right > innerWidth + 1) out.push(`${what}: ends at ${r.right} of ${innerWidth}`);
          if (s.overflowX !== 'visible' && s.display !== 'inline' && e.tagName !== 'CANVAS' &&
              (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 1)) out.push(`${what}: cut off`);
        }
        for (const svg of document.querySelectorAll('.paper svg')) {
          const r = svg.getBoundingClientRect();
          if (r.width < 100 || r.height > 1000) out.push(`picture ${svg.closest('figure').id}: ${r.width} by ${r.height}`);
        }
        return out.slice(0, 20);
        """
    )
    page.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    page.open(1600)
    data = page.driver.execute_cdp_cmd(
        "Page.printToPDF", {"printBackground": True, "preferCSSPageSize": True, "transferMode": "ReturnAsBase64"}
    )["data"]
    folder = pathlib.Path(pictures or tempfile.mkdtemp())
    pdf = folder / f"{pathlib.Path(page.url).stem}.pdf"
    pdf.write_bytes(base64.b64decode(data))
    boxes = subprocess.run(["pdftotext", "-bbox", str(pdf), "-"], check=True, capture_output=True).stdout
    root = ET.fromstring(boxes)
    words = 0
    for sheet in root.iter("{http://www.w3.org/1999/xhtml}page"):
        w, h = float(sheet.get("width")), float(sheet.get("height"))
        if abs(min(w, h) - 595.3) > 2 or abs(max(w, h) - 841.9) > 2:
            faults.append(f"a sheet of {w} by {h} points is no A4")
        for word in sheet:
            words += 1
            x0, x1, y1 = float(word.get("xMin")), float(word.get("xMax")), float(word.get("yMax"))
            if x0 < 30 or x1 > w - 30 or y1 > h - 25:
                faults.append(f"{word.text!r} at {x0:.0f} to {x1:.0f} of {w:.0f} points")
    text = "".join(root.itertext())
    for wanted in page.js("return [document.querySelector('.verdict').textContent, 'Cautions', 'Lists']"):
        if wanted.split()[0] not in text:
            faults.append(f"{wanted!r} is not printed")
    sheets = len(list(root.iter("{http://www.w3.org/1999/xhtml}page")))
    if words < 300 or sheets > 40:
        faults.append(f"{words} words on {sheets} sheets")
    return faults[:20]


def pictures_of(page, folder, name):
    for pixels in WIDTHS:
        page.open(pixels, 1000)
        page.driver.save_screenshot(str(pathlib.Path(folder) / f"{name}-{pixels}.png"))


def main():
    path = sys.argv[1]
    three_d = "--no-3d" not in sys.argv
    pictures = sys.argv[sys.argv.index("--pictures") + 1] if "--pictures" in sys.argv else None
    with tempfile.TemporaryDirectory() as profile:
        driver = browser(profile, three_d)
        try:
            page = Page(driver, path)
            driver.get("about:blank")
            driver.get_log("performance")  # what the browser's own first tab asked for
            page.open(1600)
            found = {"console": console(page), "network": network(page)}
            if three_d:
                for pixels in WIDTHS:
                    found[f"width {pixels}"] = width(page, pixels)
                found["contrast"] = contrast(page)
                page.open(1600)
                found["places"] = places(page)
                found["click"] = click(page)
                found["narrow"] = narrow(page)
                found["keyboard"] = keyboard(page)
                found["3D"] = space(page)
                found["print"] = printed(page, pictures)
            else:
                found["no 3D"] = missing_space(page)
                found["click"] = click(page)
            found["console afterwards"] = console(page)
            found["network afterwards"] = network(page)
            if pictures:
                pictures_of(page, pictures, pathlib.Path(path).stem)
        finally:
            driver.quit()
    print(json.dumps(found))


main()
