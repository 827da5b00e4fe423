"""How the tests drive the pages: by Streamlit's own test driver, and by hand in a browser."""

import re
from pathlib import Path

from playwright.sync_api import Error, expect

WAIT = 30_000


def words(app):
    """All that stands on the page as HTML of our own."""
    return " ".join(part.value for part in app.get("html"))


def on(app, screen):
    app.switch_page(f"screens/{screen}.py").run()
    assert not app.exception
    return app


def opened(app, name="damson_sorbet", screen="mix"):
    app.button(key=f"try_{name}").click().run()
    assert not app.exception
    return on(app, screen)


def edit(app, editor, row, **cells):
    """Edit cells of a row as the browser would tell it."""
    key = f"{editor}_{app.session_state.word}_{app.session_state.version}"
    rows = {}
    if key in app.session_state:
        rows = dict(app.session_state[key]["edited_rows"])
    rows[row] = {**rows.get(row, {}), **cells}
    app.session_state[key] = {"edited_rows": rows, "added_rows": [], "deleted_rows": []}
    app.run()
    assert not app.exception


def entry(app, name):
    """Key of a widget of this version."""
    return f"{name}_{app.session_state.word}_{app.session_state.version}"


def grams(app):
    return [each.grams for each in app.session_state.recipe.ingredients]


class Watch:
    """What a page said on the console, and what it asked for elsewhere."""

    def __init__(self, view, address):
        self.errors, self.elsewhere = [], []
        view.on("console", self._said)
        view.on("pageerror", lambda error: self.errors.append(str(error)))
        view.on("request", lambda request: self._asked(request.url, address))

    def _said(self, line):
        # Opened below the first page, Streamlit looks for its server there first and is told 404.
        probe = "/_stcore/" in str(line.location.get("url", "")) and "404" in line.text
        if line.type == "error" and not probe:
            self.errors.append(line.text)

    def _asked(self, url, address):
        if not url.startswith((address, "data:", "blob:")):
            self.elsewhere.append(url)


class Cook:
    """Somebody at a page: what hands and eyes do."""

    def __init__(self, tab, address):
        self.tab, self.address = tab, address
        self.watch = Watch(tab, address)

    def arrive(self, path="/"):
        """Open the first screen or an address."""
        self.tab.goto(self.address + path)
        self.quiet()

    def quiet(self):
        """Wait until nothing has run for a while; an editor waits 150 ms before it tells of an edit."""
        self.tab.evaluate("window.idleSince = null")
        self.tab.wait_for_function(
            """() => {
                const state = document.querySelector('.stApp')?.dataset.testScriptState;
                if (state !== 'notRunning') { window.idleSince = null; return false; }
                window.idleSince ??= performance.now();
                return performance.now() - window.idleSince > 300;
            }""",
            timeout=WAIT,
        )

    def try_example(self, name):
        """Press the button of an example on the first screen."""
        self.tab.locator(f".st-key-try_{name} button").click()
        expect(self.tab.locator(".verdict")).to_be_visible(timeout=WAIT)
        self.quiet()

    def go_to(self, title):
        """Go to a page by its name in the bar at the top."""
        bar = self.tab.locator(".st-key-pages")  # on a phone
        place = bar if bar.is_visible() else self.tab
        place.get_by_role("link", name=title, exact=True).first.click()
        expect(self.tab.locator("h1.name")).to_be_visible(timeout=WAIT)
        self.quiet()

    def press(self, name):
        """Press a button."""
        self.tab.get_by_role("button", name=name).first.click()
        self.quiet()

    def open_menu(self, key, inside):
        """Open a menu, unless it is open already; ``inside`` is the key of what then is seen."""
        place = self.tab.locator(f".st-key-{inside}").first
        for _ in range(6):
            if place.is_visible():
                return
            self.tab.locator(f".st-key-{key} button").first.click()
            self.quiet()
        expect(place).to_be_visible(timeout=WAIT)

    def save(self):
        """Save the recipe and return the bytes of its file."""
        self.open_menu("recipe_menu", "download")
        with self.tab.expect_download(timeout=WAIT) as waiting:
            self.tab.locator(".st-key-download button").first.click()
        self.tab.keyboard.press("Escape")
        self.quiet()
        return Path(waiting.value.path()).read_bytes()

    def choose(self, menu, entry, name):
        """Choose one of a list in a menu, which may be open already."""
        place = self.tab.locator(f".st-key-{entry} input")
        option = self.tab.get_by_role("option", name=name, exact=True).first
        before = self.tab.url
        for _ in range(6):
            self.open_menu(menu, entry)
            try:
                place.fill(name, timeout=5000)
                option.click(timeout=5000)
                self.tab.wait_for_url(lambda url: url != before, timeout=5000)
                break
            except Error:  # the menu was drawn anew meanwhile
                continue
        self.quiet()
        assert self.tab.url != before, f"{name} could not be chosen"

    def sees(self, words, where=".stMain"):
        """Wait until a place says so; ``words`` is a pattern."""
        expect(self.tab.locator(where).first).to_contain_text(re.compile(words), timeout=WAIT)

    def grid(self, name):
        """The editor of a name, whatever its version."""
        return self.tab.locator(f"[class*='st-key-{name}_']").first

    def fill_cell(self, name, row, column, value):
        """Edit a cell as a person does: click into the table, walk there, Enter, write, Enter."""
        table = self.grid(name)
        corner = table.locator("[data-testid='glide-cell-0-0']")
        for _ in range(6):
            try:
                table.scroll_into_view_if_needed(timeout=3000)
                table.locator(".dvn-scroller").click(position={"x": 30, "y": 58}, timeout=3000)
                expect(corner).to_have_attribute("aria-selected", "true", timeout=1500)
                break
            except (AssertionError, Error):  # drawn anew meanwhile
                continue
        for key, times in (("ArrowDown", row), ("ArrowRight", column)):
            for _ in range(times):
                self.tab.keyboard.press(key)
        cell = table.locator(f"[data-testid='glide-cell-{column}-{row}']")
        expect(cell).to_have_attribute("aria-selected", "true", timeout=WAIT)
        self.tab.keyboard.press("Enter")
        entry = self.tab.locator("#portal .gdg-input")
        entry.fill(value)
        self.tab.keyboard.press("Enter")
        expect(entry).to_have_count(0, timeout=WAIT)
        self.quiet()

    def drop(self, name, data, key="upload_first"):
        """Drop a file where recipes are opened."""
        place = self.tab.locator(f".st-key-{key} input[type=file]")
        place.set_input_files({"name": name, "mimeType": "application/toml", "buffer": data})

    def width_of_page(self):
        """How wide the page is, in pixels: more than the window, and it has to be dragged sideways."""
        return self.tab.evaluate("document.scrollingElement.scrollWidth")
