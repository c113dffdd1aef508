"""Reports hold only what was typed, as it was typed: nothing in it acts in a browser, a Markdown reader, a terminal."""

from __future__ import annotations

import itertools
import re
import unicodedata
from pathlib import Path

import pytest
from markdown_it import MarkdownIt

from benchwalk.report.render import TEMPLATES, flat, md_text
from report_helpers import AUDIENCES, JOBS, SAMPLE, Page, heard, release, report
from shop_helpers import fresh_shop
from test_hostile_text import HOSTILE

WEB = "http:" + "//example.org"

ACTIVE = {
    "script": "<script>alert(1)</script>",
    "breakout": '"><img src=x onerror=alert(1)><a href="',
    "single quote": "' onmouseover='alert(1)",
    "close": "</style></td></table><svg/onload=alert(1)>",
    "url": "javascript:alert(1) and [here](javascript:alert(1))",
    "entity": "&lt;b&gt; &amp; &#60;i&#62;",
    "comment": "<!-- gone --> <![CDATA[ x ]]>",
    "template": "{{ doc.shop }} {% for x in y %} {# c #} ${7*7}",
    "heading": "# not a heading",
    "quote": "> not a quote",
    "bullet": "- not a list",
    "plus": "+ not a list either",
    "count": "1. not a list\n2. still none",
    "table": "a | b \\| c",
    "rule": "---",
    "setext": "title\n=====",
    "stress": "*a* **b** _c_ __d__ ~~e~~ `f` ``g``",
    "definition": f"[78]: {WEB} 'gone'",
    "picture": f"![x]({WEB}/x.png)",
    "bare address": f"see {WEB}/x and www.example.org",
    "somebody": "write to ilse@example.org or example.org",
    "angle address": f"<{WEB}>",
    "tag at start": "<b>bold",
    "fence": "```\ncode\n```",
    "backslash": "end \\",
    "math": "$x^2$ and :smile: ",
    "long": "x" * 3000,
}
PAYLOADS = [pytest.param(text, id=name) for name, text in (ACTIVE | HOSTILE).items()]
NO_MARKS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\u00ad]")
OUTSIDE = ("src", "srcset", "action", "formaction", "data", "poster", "background", "xlink:href", "ping", "manifest")
TAGS = {
    *("html", "head", "meta", "title", "style", "body", "main", "header", "section", "article", "div", "h1", "h2"),
    *("h3", "h4", "p", "dl", "dt", "dd", "ul", "ol", "li", "table", "thead", "tbody", "tr", "th", "td", "a", "span"),
    "strong",
}


def shown_as(typed: str) -> str:
    """How a text stands in a report: on one line, with blanks as a reader of HTML sees them."""
    return " ".join(flat(typed).split())


def look_through(html: str) -> Page:
    """The page, after making sure that nothing in it acts, loads or leads away."""
    page = Page(html)
    assert page.whole
    assert {tag for tag, _ in page.tags} <= TAGS
    for tag, attrs in page.tags:
        for name, value in attrs.items():
            assert not name.startswith("on") and name not in OUTSIDE, (tag, name)
            if name == "href":
                assert re.fullmatch(r"#e\d+", value or ""), value
            if name == "style":
                assert re.fullmatch(r"[-a-z0-9:; \n]*", value or ""), value
    assert "url(" not in page.style and "@import" not in page.style and "</" not in page.style
    policies = [a["content"] for t, a in page.tags if t == "meta" and a.get("http-equiv") == "Content-Security-Policy"]
    assert policies == ["default-src 'none'; style-src 'unsafe-inline'"]
    return page


@pytest.mark.parametrize("audience", AUDIENCES)
@pytest.mark.parametrize("job", JOBS)
def test_a_page_holds_all_it_needs_and_loads_nothing(job: str, audience: str) -> None:
    """No script, no handler, no reference outside the page, and a policy that would allow none."""
    page = look_through(report(SAMPLE, job, audience, "html"))
    assert page.values("html", "lang") == ["en"]
    assert [tag for tag, _ in page.tags].count("h1") == 1


@pytest.mark.parametrize("job", JOBS)
def test_a_page_is_built_for_those_who_hear_it(job: str) -> None:
    """Headings go down one level at a time, tables name their columns, sections are named by their headings."""
    page = look_through(report(SAMPLE, job, "shop", "html"))
    levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch(r"h\d", tag)]
    assert levels[0] == 1 and all(after - before <= 1 for before, after in itertools.pairwise(levels))
    assert all(attrs.get("scope") for tag, attrs in page.tags if tag == "th")
    names = page.values("section", "aria-labelledby")
    assert names and set(names) <= set(page.values("h2", "id"))
    ids = [attrs["id"] for _, attrs in page.tags if "id" in attrs]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("typed", PAYLOADS)
def test_what_is_typed_never_acts_in_a_report(tmp_path: Path, typed: str) -> None:
    """Wherever words can be typed they stand in every report as typed, and act in none."""
    shop = fresh_shop(tmp_path)
    fit = "".join(c for c in typed if unicodedata.category(c) not in ("Cc", "Cf", "Zl", "Zp"))[:200] or "x"
    note = {"instrument": fit, "complaint": fit, "tag": fit}
    with heard(shop, typed, note=note, reason=typed) as session:
        release(session)
        job = session.state.job
    for audience in AUDIENCES:
        page = look_through(report(shop.root, job, audience, "html"))
        assert shown_as(typed.strip()) in page.text and shown_as(fit) in page.text
        assert not NO_MARKS.search(page.text.replace("\n", ""))

        text = report(shop.root, job, audience, "text")
        assert not NO_MARKS.search(text.replace("\n", ""))
        assert "".join(shown_as(typed.strip()).split()) in "".join(text.split())

        md = report(shop.root, job, audience, "md")
        assert not NO_MARKS.search(md.replace("\n", ""))
        read = Page(MarkdownIt("gfm-like").render(md))
        assert {tag for tag, _ in read.tags} <= {
            *("h1", "h2", "h3", "p", "ul", "li", "table", "thead", "tbody", "tr", "th", "td", "strong", "blockquote"),
        }
        assert shown_as(typed.strip()) in read.text


@pytest.mark.parametrize("typed", PAYLOADS)
def test_markdown_shows_a_text_as_typed(typed: str) -> None:
    """A text alone in a paragraph, a list or a table's cell is read as exactly the text it was."""
    reader = MarkdownIt("gfm-like")
    for before, after in (("", ""), ("- ", ""), ("- Note: ", ""), ("| a | b |\n| -- | -- |\n| ", " | x |")):
        page = Page(reader.render(f"{before}{md_text(typed)}{after}\n"))
        assert shown_as(typed) in page.text, before
        assert not {"a", "img", "h1", "h2", "ol", "em", "strong", "code", "pre", "hr", "s"} & {t for t, _ in page.tags}


def test_a_format_asks_for_nothing_it_is_not_given() -> None:
    """A template that names something unknown fails instead of printing nothing in its place."""
    from jinja2 import UndefinedError

    from benchwalk.report import render

    for form in TEMPLATES:
        with pytest.raises(UndefinedError):
            render.environment(form).from_string("{{ doc.nothing }}").render(doc={})
