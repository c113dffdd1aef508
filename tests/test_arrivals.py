"""The newest file in the folders where a shop's pictures and recordings arrive."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from benchwalk.errors import Refused
from benchwalk.job.arrivals import arrivals_folder, newest_file
from benchwalk.job.shop import Shop
from benchwalk.session import Session
from shop_helpers import begin, command, document, events, fresh_shop
from test_plain import typed_at
from walk_helpers import linked, procedure

SEEN = procedure(
    "readings:\n  seen: {ask: The old cord, kind: picture}\n  heard: {ask: A tap, kind: sound}\nsteps:\n"
    "  - step: look\n    record: [seen, heard]\n  - step: finish\n    end: done\n",
    id="look-once",
)


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop whose pictures arrive in a folder of its own, and whose recordings arrive nowhere."""
    root = fresh_shop(tmp_path).root
    (root / "in").mkdir()
    with open(root / "shop.yaml", "a", encoding="utf-8") as file:
        file.write("pictures: in\n")
    return Shop.open(root)


def put(shop: Shop, name: str, time: int, data: bytes = b"x") -> Path:
    """A file that arrived at that second."""
    path = shop.root / "in" / name
    path.write_bytes(data)
    os.utime(path, (time, time))
    return path


def look(shop: Shop) -> Session:
    """A job that asks for a picture and then for a recording."""
    return begin(shop, linked(SEEN), drum={})


def test_the_file_changed_last_is_the_newest(shop: Shop) -> None:
    """By time of change and then by name; hidden files, folders and files still empty are passed over."""
    put(shop, "b.png", 2_000_000_000)
    newest = put(shop, "a.png", 2_000_000_100)
    assert newest_file(shop, "picture") == newest
    put(shop, ".c.png", 2_000_000_200)
    put(shop, "d.png", 2_000_000_200, b"")
    (shop.root / "in" / "e").mkdir()
    os.utime(shop.root / "in" / "e", (2_000_000_300, 2_000_000_300))
    assert newest_file(shop, "picture") == newest
    assert newest_file(shop, "picture") != put(shop, "aa.png", 2_000_000_000)
    assert put(shop, "z.png", 2_000_000_100) == newest_file(shop, "picture")


def test_folders_are_named_from_home_from_the_shop_or_whole(
    shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`~` is whoever's home, a bare name lies in the shop, a whole path is itself, and no setting is no folder."""
    monkeypatch.setenv("HOME", str(tmp_path))
    base = {"root": shop.root, "name": "x"}
    assert arrivals_folder(Shop(**base, pictures="~/cam"), "picture") == tmp_path / "cam"
    assert arrivals_folder(Shop(**base, recordings="in"), "sound") == shop.root / "in"
    assert arrivals_folder(Shop(**base, recordings=str(tmp_path / "rec")), "sound") == tmp_path / "rec"
    assert arrivals_folder(Shop(**base, recordings="in"), "picture") is None
    assert arrivals_folder(Shop(**base, recordings="in"), "words") is None


def test_without_a_folder_or_a_file_it_is_said_so(shop: Shop) -> None:
    """No setting, no folder and no file are each one sentence that says what is missing."""
    with pytest.raises(Refused, match="there is no file in the folder of pictures yet"):
        newest_file(shop, "picture")
    with pytest.raises(Refused, match=r"the shop names no folder for this; .* as in recordings: "):
        newest_file(shop, "sound")
    (shop.root / "in").rmdir()
    with pytest.raises(Refused, match="the folder of pictures cannot be read"):
        newest_file(shop, "picture")


def test_newest_is_shown_and_agreed_to_before_it_counts(shop: Shop) -> None:
    """`newest` names the file; no leaves it, Enter keeps it with the job, and nothing is noted before."""
    put(shop, "old.png", 2_000_000_000, b"\x89PNG old")
    put(shop, "both ends.png", 2_000_000_100, b"\x89PNG new")
    session = look(shop)
    talk = typed_at(session, "", "newest", "no", "Newest", "", "newest")
    assert talk.flat.count("The newest is both ends.png, of 2033-05-") == 2 and "Not noted." in talk.flat
    assert "The shop names no folder for this" in talk.flat, "recordings arrive nowhere here"
    read = [e for e in events(shop, session.state.job) if e["what"] == "read"]
    assert [Path(e["typed"]).name for e in read] == ["both ends.png"]
    assert (session.folder.files / read[0]["value"]).read_bytes() == b"\x89PNG new"
    assert "newest, or on paper" in talk.flat


def test_where_names_the_folders(shop: Shop, tmp_path: Path) -> None:
    """`benchwalk where` tells where new files arrive, where the settings say so, and minds no broken settings."""
    found = document(command("where", "--json", shop=shop.root).stdout)
    assert found["new pictures"] == str(shop.root / "in") and "new recordings" not in found
    (shop.root / "shop.yaml").write_text("name: [")
    ran = command("where", "--json", shop=shop.root)
    assert ran.returncode == 0 and "new pictures" not in document(ran.stdout)
