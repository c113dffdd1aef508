"""A shop's settings as they were kept: always what its file says, and never in anybody's way."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from benchwalk.errors import Failure, UsageError
from benchwalk.job import yamlfile
from benchwalk.job.shop import Shop
from benchwalk.paths import shop_cache
from benchwalk.shop.settings import FILE, open_shop
from shop_helpers import fresh_shop


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop whose settings are kept already."""
    shop = fresh_shop(tmp_path)
    assert open_shop(shop.root) == shop
    return shop


def file_of(shop: Shop) -> Path:
    """Where its settings are kept."""
    return shop_cache(shop.root) / FILE


def test_settings_that_are_known_are_not_read_again(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """While shop.yaml is the same file, the shop is the same, and its YAML is not looked at."""
    monkeypatch.setattr(yamlfile, "read_map", lambda path, what: pytest.fail("the file was read"))
    assert open_shop(shop.root) == shop


def test_a_changed_file_is_read_again(shop: Shop) -> None:
    """What is written into shop.yaml holds the next time, also where the file stays as long as it was."""
    text = (shop.root / "shop.yaml").read_text()
    for before, after in (("one_person: false", "one_person: true "), ("senior #", "master #")):
        text = text.replace(before, after, 1)
        (shop.root / "shop.yaml").write_text(text)
        assert open_shop(shop.root) == Shop.open(shop.root)
    changed = open_shop(shop.root)
    assert changed.one_person and changed.override_role == "master" and changed != shop


def test_a_file_that_is_wrong_is_refused_as_ever(shop: Shop) -> None:
    """A setting that cannot be, and a shop that is gone, are said although others are kept."""
    with (shop.root / "shop.yaml").open("a") as file:
        file.write("colour: red\n")
    with pytest.raises(Failure, match="no setting of a shop"):
        open_shop(shop.root)
    shutil.rmtree(shop.root)
    with pytest.raises(UsageError, match="no shop here"):
        open_shop(shop.root)


@pytest.mark.parametrize("kept", [b"", b"{", b"[]", b"[1, 2]", b"null", b'["x", {}]'])
def test_what_was_kept_may_be_anything(shop: Shop, kept: bytes) -> None:
    """A damaged file of kept settings counts as none, and is made anew."""
    whole = file_of(shop).read_bytes()
    file_of(shop).write_bytes(kept)
    assert open_shop(shop.root) == shop
    assert file_of(shop).read_bytes() == whole


@pytest.mark.parametrize("before, after", [(b'"one_person":false', b'"one_person":"no"'), (b'"name":', b'"called":')])
def test_fields_of_another_kind_count_as_none(shop: Shop, before: bytes, after: bytes) -> None:
    """Kept settings that this version would not write are not believed."""
    whole = file_of(shop).read_bytes()
    assert before in whole
    file_of(shop).write_bytes(whole.replace(before, after))
    assert open_shop(shop.root) == shop


def test_nothing_is_kept_where_nothing_can_be(shop: Shop) -> None:
    """Where the cache folder is a file, the shop opens all the same."""
    shutil.rmtree(shop_cache(shop.root))
    shop_cache(shop.root).parent.mkdir(parents=True, exist_ok=True)
    shop_cache(shop.root).write_text("in the way")
    assert open_shop(shop.root) == shop


def test_kept_settings_are_for_their_owner_only(shop: Shop) -> None:
    """Nobody else on the machine can read or write them."""
    assert os.stat(file_of(shop)).st_mode & 0o077 == 0
