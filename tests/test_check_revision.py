"""`check` in a shop: content that was changed under a revision the shop has approved."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchwalk.job.shop import Shop
from benchwalk.library import Library
from shop_helpers import FLAGSHIP, approve_for, command, document, fresh_shop

SHIPPED = Library.of().path_of(FLAGSHIP)
RUN = "tie-one-side"


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with copies of the shipped procedures of its own; the flagship was approved, with what it runs."""
    made = fresh_shop(tmp_path)
    for path in SHIPPED.parent.glob("*.yaml"):
        (made.procedures / path.name).write_bytes(path.read_bytes())
    return made


def change(shop: Shop, name: str, old: str, new: str) -> None:
    """One change in a procedure of the shop."""
    path = shop.procedures / f"{name}.yaml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def told(shop: Shop, name: str | Path) -> list[str]:
    """What the rule says of a procedure in that shop, with its line."""
    ran = command("check", name, "--no-rehearsal", "--json", shop=shop.root)
    found = [f for f in document(ran.stdout)["findings"] if f["rule"] == "revision"]
    assert all(f["severity"] == "error" for f in found) and ran.returncode == (1 if found else 0) and ran.stderr == ""
    return [f"{f['line']}: {f['message']}" for f in found]


def test_what_was_approved_is_left_alone(shop: Shop) -> None:
    """The approved text, and the same with another layout and comments, is told nothing of."""
    assert told(shop, FLAGSHIP) == told(shop, RUN) == []
    change(shop, FLAGSHIP, "revision: 1\n", "revision:    1 # as approved\n\n")
    assert told(shop, FLAGSHIP) == []


def test_other_content_under_an_approved_revision_is_told(shop: Shop) -> None:
    """Who approved it, when, and which revision it wants; with that revision nothing is told."""
    change(shop, FLAGSHIP, "title: Tie the snares anew with cords", "title: Tie the snares anew")
    assert told(shop, FLAGSHIP) == [
        "3: revision 1 was approved by Mara Quill on 2026-03-01, and says something else now; raise it to 2"
    ]
    change(shop, FLAGSHIP, "revision: 1\n", "revision: 2\n")
    assert told(shop, FLAGSHIP) == []


def test_text_on_a_terminal_shows_the_line(shop: Shop) -> None:
    """People see the place, the sentence and the rule."""
    change(shop, FLAGSHIP, "title: Tie the snares anew with cords", "title: Tie the snares anew")
    ran = command("check", FLAGSHIP, "--no-rehearsal", shop=shop.root)
    assert f"{shop.procedures / FLAGSHIP}.yaml:3:11: revision 1 was approved by Mara Quill" in ran.stdout
    assert "[revision]\n    revision: 1\n              ^" in ran.stdout


def test_what_an_approved_procedure_runs_is_held_to_its_revision_too(shop: Shop) -> None:
    """A procedure that was approved only as part of another is named as such."""
    change(shop, RUN, "time: 5 min", "time: 6 min")
    assert told(shop, RUN) == [
        "3: revision 1 was approved by Mara Quill on 2026-03-01 as part of 'retie-snare-cords', "
        "and says something else now; raise it to 2"
    ]


def test_content_approved_later_under_the_same_number_counts(shop: Shop) -> None:
    """Where that very content was approved too, in whatever order, nothing is told."""
    change(shop, FLAGSHIP, "title: Tie the snares anew with cords", "title: Tie the snares anew")
    approve_for(shop, Library.of(shop.root).get(FLAGSHIP))
    assert told(shop, FLAGSHIP) == []
    change(shop, FLAGSHIP, "title: Tie the snares anew\n", "title: Tie the snares anew with cords\n")
    assert told(shop, FLAGSHIP) == []


def test_withdrawn_approval_says_nothing(shop: Shop) -> None:
    """What is no longer approved can be changed under its number."""
    from benchwalk.job.approvals import withdraw
    from benchwalk.job.people import check_pin
    from shop_helpers import PINS, SENIOR, Clock

    clock = Clock()
    change(shop, FLAGSHIP, "title: Tie the snares anew with cords", "title: Tie the snares anew")
    withdraw(shop, FLAGSHIP, "1", "A figure is wrong", check_pin(shop, SENIOR, PINS[SENIOR], clock()), clock())
    assert told(shop, FLAGSHIP) == []


def test_a_draft_elsewhere_is_nobodys_yet(shop: Shop, tmp_path: Path) -> None:
    """A file that the shop's library does not use is not held against its approvals, whatever its id."""
    change(shop, FLAGSHIP, "title: Tie the snares anew with cords", "title: Tie the snares anew")
    draft = tmp_path / "draft"
    draft.mkdir()
    for path in shop.procedures.glob("*.yaml"):
        (draft / path.name).write_bytes(path.read_bytes())
    assert told(shop, draft / f"{FLAGSHIP}.yaml") == []
    assert len(told(shop, shop.procedures / f"{FLAGSHIP}.yaml")) == 1


def test_a_procedure_of_no_library_is_checked_without_approvals(shop: Shop, tmp_path: Path) -> None:
    """An id that the library does not have is no reason to fail."""
    draft = tmp_path / "brand-new.yaml"
    text = (shop.procedures / f"{RUN}.yaml").read_text(encoding="utf-8")
    draft.write_text(text.replace(f"procedure: {RUN}", "procedure: brand-new"), encoding="utf-8")
    assert told(shop, draft) == []


def test_approvals_that_cannot_be_read_are_said_and_stop_nothing(shop: Shop) -> None:
    """A damaged log of approvals is complained of on stderr; the check goes on and its exit code is its own."""
    log = shop.procedures / "approvals.jsonl"
    log.write_bytes(log.read_bytes().replace(b"Mara", b"Nora", 1))
    ran = command("check", FLAGSHIP, "--no-rehearsal", "--json", shop=shop.root)
    assert ran.returncode == 0 and document(ran.stdout)["findings"]
    assert (
        ran.stderr.startswith("Revisions are not held against the shop's approvals: ") and ran.stderr.count("\n") == 1
    )
