"""Signs that steer a terminal or a page instead of standing on it, written out wherever a text is shown."""

from __future__ import annotations

import re

# C0 and C1 but the line feed; what turns the direction of writing; breaks of line and paragraph; marks nobody sees
# that begin or end something; halves of letters. Joiners stay: some scripts are spelt with them.
_CONTROL = re.compile(
    "[\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u206f\ufeff\ufff9-\ufffb\ud800-\udfff"
    "\U000e0000-\U000e007f]"
)
_UNDECODED = range(0xDC80, 0xDD00)  # a byte of a file's name that is no UTF-8, as Python keeps it


def plain(text: str) -> str:
    """Text in which every control sign is written out: an escape is "\\x1b". Line feeds stay."""
    return _CONTROL.sub(lambda found: _shown(found[0]), text)


def _shown(sign: str) -> str:
    code = ord(sign)
    if code in _UNDECODED:
        code -= 0xDC00
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def one_line(text: str) -> str:
    """A name on one line: with a break in it, it would pass for a line of the answer."""
    return " ".join(part.strip() for part in text.split("\n")) if "\n" in text else text


def plain_json(text: str) -> str:
    """A JSON document with every control sign as its escape; it says the same."""
    return _CONTROL.sub(lambda found: _json_escape(found[0]), text)


def _json_escape(sign: str) -> str:
    data = sign.encode("utf-16-be", errors="surrogatepass")
    return "".join(f"\\u{data[at : at + 2].hex()}" for at in range(0, len(data), 2))
