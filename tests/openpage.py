"""Pages opened as a visitor's browser would open them, without one; what stands on them, element by element."""

from __future__ import annotations

from html.parser import HTMLParser

from streamlit.testing.v1 import AppTest

#: what nobody's name should do to a page
HOSTILE = "<script>alert(1)</script>"


class Elements(HTMLParser):
    """Collects the text of elements by class and by name, nested ones too."""

    def __init__(self, body: str) -> None:
        super().__init__()
        self._open: list[tuple[str, list[str], list[str]]] = []
        self.found: list[tuple[str, list[str], str]] = []
        self.feed(body)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._open.append((tag, (dict(attrs).get("class") or "").split(), []))

    def handle_data(self, data: str) -> None:
        for _, _, text in self._open:
            text.append(data)

    def handle_endtag(self, tag: str) -> None:
        name, classes, text = self._open.pop()
        assert name == tag, "elements are nested as they should be"
        self.found.append((name, classes, "".join(text)))

    def of(self, what: str) -> list[str]:
        """Return the texts of the elements of a class or name, in the order they end."""
        return [text for name, classes, text in self.found if what in (name, *classes)]


def start(first: str = "bike", **link: str) -> AppTest:
    """Open a page as a new visitor with a link."""
    page = AppTest.from_string(f"from ropewalk.page.router import run\nrun({first!r})", default_timeout=120)
    for name, value in link.items():
        page.query_params[name] = value
    page.run()
    assert not page.exception
    return page


def confirm(page: AppTest) -> AppTest:
    """Say that the levers are as the file has them."""
    page.button(key="levers are so").click().run()
    assert not page.exception
    return page


def opened(first: str, **link: str) -> AppTest:
    """Open a page as a new visitor with a link, who says that the levers are as the file has them where asked."""
    page = start(first, **link)
    return confirm(page) if any(button.key == "levers are so" for button in page.button) else page


def followed(page: AppTest, first: str = "cut-list") -> AppTest:
    """Open another page in the same state, by the link in the address."""
    link = {name: held if isinstance(held, str) else held[0] for name, held in page.query_params.items()}
    return opened(first, **link)


def body(page: AppTest) -> str:
    """Return the page's own HTML but for its style."""
    return "".join(part.value for part in page.get("html") if "<style>" not in part.value)


def shown(page: AppTest) -> Elements:
    return Elements(body(page))


class Saved:
    """Stands in for the buttons that save files: holds what each would save, by its key."""

    def __init__(self) -> None:
        self.files: dict[str, bytes] = {}

    def __call__(self, label: str, data: bytes, file_name: str, mime: str, *, on_click: str, key: str) -> bool:
        self.files[key] = data
        return False
