"""Reads a report's page as a browser would: `python page.py FILE LANGUAGE`.

Checks that every tag is closed in order, that it says its language, title and the words of each drawing, and that nothing
in it runs or is fetched.
"""

import sys
from html.parser import HTMLParser

VOID = {"meta", "link", "br", "hr", "img", "input"}
FETCHING = {"src", "href", "data", "action", "poster", "srcset"}


class Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: dict[str, int] = {}
        self.language = None
        self.drawings: list[bool] = []

    def handle_starttag(self, tag, attrs):
        attributes = dict(attrs)
        self.seen[tag] = self.seen.get(tag, 0) + 1
        assert tag not in {"script", "iframe", "object", "embed", "form", "base"}, tag
        assert not FETCHING & attributes.keys(), (tag, attributes)
        assert not any(name.startswith("on") for name in attributes), (tag, attributes)
        assert "url(" not in (attributes.get("style") or ""), attributes
        if tag == "html":
            self.language = attributes.get("lang")
        if tag == "svg":
            assert attributes.get("role") == "img", attributes
            self.drawings.append(False)
        if tag == "title" and "svg" in self.open:
            self.drawings[-1] = True
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag):
        assert self.open and self.open[-1] == tag, f"</{tag}> closes {self.open[-1:]}"
        self.open.pop()


def main(arguments: list[str]) -> int:
    path, language = arguments
    with open(path, encoding="utf-8") as file:
        text = file.read()
    page = Page()
    page.feed(text)
    page.close()
    assert not page.open, page.open
    assert page.language == language, page.language
    assert page.seen.get("h1") == 1 and page.seen.get("title", 0) >= 1, page.seen
    assert all(page.drawings), "a drawing without words"
    assert "@import" not in text and "url(" not in text
    print(f"{sum(page.seen.values())} tags, {len(page.drawings)} drawings")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
