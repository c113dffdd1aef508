"""Bytes to text fit for the YAML reader: size, encoding, control characters and tabs, each said with its place."""

from __future__ import annotations

import re
import unicodedata

from .findings import Finding, Pos
from .tree_source import Source
from .yaml_table import said

MOST_BYTES = 2_000_000
_MOST_TOLD = 20

_MARKS = (  # the longer marks first: UTF-32 begins like UTF-16
    (b"\xff\xfe\x00\x00", "UTF-32"),
    (b"\x00\x00\xfe\xff", "UTF-32"),
    (b"\xff\xfe", "UTF-16"),
    (b"\xfe\xff", "UTF-16"),
)
_PLAIN_CONTROLS = bytes(c for c in range(128) if c >= 32 and c != 127) + b"\t\r\n"
_CONTROLS = bytes([*range(9), 11, 12, *range(14, 32)])
_TAB = re.compile(r"(?:\A|(?<=[\r\n])) *\t[ \t]*(?=[^\s])")
_BAD = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029"  # controls, and line breaks of other worlds
    "\u200b\u2060\ufeff\u202a-\u202e\u2066-\u2069"  # seen by nobody, or turning the text round
    "\ud800-\udfff\ufffe\uffff]"  # no characters at all
)
_KNOWN = {
    0x00: "a NUL character",
    0x0C: "a form feed",
    0x1B: "an escape character",
    0x85: "a next-line character",
    0x200B: "a zero-width space",
    0x2028: "a line separator character",
    0x2029: "a paragraph separator character",
    0xFEFF: "a byte order mark inside the text",
}


def bad_character(text: str) -> re.Match[str] | None:
    """The first character of `text` that may not stand in a procedure, however it was written."""
    return _BAD.search(text)


def without_bad(text: str) -> str:
    """`text` with each such character replaced by U+FFFD."""
    return _BAD.sub("\ufffd", text)


def named(char: str) -> str:
    """A forbidden character in words, with its number: `an escape character (U+001B)`."""
    code = ord(char)
    if code in _KNOWN:
        words = _KNOWN[code]
    elif 0xD800 <= code < 0xE000:
        words = "half of a character"
    elif unicodedata.category(char) == "Cc":
        words = "a control character"
    elif code in range(0x202A, 0x202F) or code in range(0x2066, 0x206A):
        words = "a mark that turns the reading direction"
    else:
        words = "an invisible character"
    return f"{words} (U+{code:04X})"


def decode(data: str | bytes, findings: list[Finding]) -> str | None:
    """The text of `data` without a byte order mark, or None (and a finding) where there is no reading it at all."""
    if isinstance(data, str):
        text: str | None = data
    else:
        if len(data) > MOST_BYTES:
            return _refuse(findings, "yaml-too-big", _too_big(len(data)))
        text = _from_bytes(bytes(data), findings)
    if text is None:
        return None
    if len(text) > MOST_BYTES or len(text.encode("utf-8", "surrogatepass")) > MOST_BYTES:
        return _refuse(findings, "yaml-too-big", _too_big(len(text.encode("utf-8", "surrogatepass"))))
    return text.removeprefix("\ufeff")


def clean(source: Source, findings: list[Finding]) -> str:
    """The text for the reader: forbidden characters told and replaced one for one, so that places stay true."""
    text = source.text
    if "\t" in text:
        for number, found in enumerate(_TAB.finditer(text)):
            if number == _MOST_TOLD:
                break
            at = found.group().index("\t") + found.start()
            findings.append(Finding("yaml-tab", said("yaml-tab"), source.pos(at)))
    if text.isascii() and not text.encode().translate(None, _PLAIN_CONTROLS):
        return text
    for number, found in enumerate(_BAD.finditer(text)):
        if number == _MOST_TOLD:
            break
        message = f"{named(found.group())} stands here; take it out"
        findings.append(Finding("yaml-control", message, source.pos(found.start())))
    return without_bad(text)


def _from_bytes(data: bytes, findings: list[Finding]) -> str | None:
    for mark, name in _MARKS:
        if data.startswith(mark):
            shown = " ".join(f"{byte:02X}" for byte in mark)
            said_so = f"this file is {name} (it begins with the bytes {shown}); save it as UTF-8"
            return _refuse(findings, "yaml-encoding", said_so)
    head = data[:4096]
    even, odd = head[::2].count(0), head[1::2].count(0)
    if len(head) >= 4 and max(even, odd) * 5 > len(head) * 2 and min(even, odd) * 10 < len(head):
        at = data.index(0) + 1
        said_so = f"this file looks like UTF-16 (byte {at} is zero, and so is every second one); save it as UTF-8"
        return _refuse(findings, "yaml-encoding", said_so)
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        if even or odd or len(head.translate(None, _CONTROLS)) * 10 < len(head) * 9:
            said_so = f"this is no text but binary data (byte {error.start + 1} is 0x{data[error.start]:02X})"
            return _refuse(findings, "yaml-binary", f"{said_so}; a YAML text saved as UTF-8 is expected")
        return _not_utf8(data, error.start, findings)


def _not_utf8(data: bytes, start: int, findings: list[Finding]) -> str:
    before = data[:start].decode("utf-8").removeprefix("\ufeff")
    place = Source(before + "x").pos(len(before))
    byte = data[start]
    guess = bytes([byte]).decode("cp1252", "replace")
    meant = f", perhaps '{guess}' in an older encoding" if guess.isprintable() and guess != "\ufffd" else ""
    said_so = f"byte {start + 1} of the file (0x{byte:02X}{meant}) is not UTF-8; save the file as UTF-8"
    findings.append(Finding("yaml-encoding", said_so, place))
    return data.decode("utf-8", "replace")


def _too_big(size: int) -> str:
    return f"this file has {size:,} bytes; at most {MOST_BYTES:,} are read".replace(",", " ")


def _refuse(findings: list[Finding], rule: str, message: str) -> str | None:
    findings.append(Finding(rule, message, Pos(1, 1)))
    return None
