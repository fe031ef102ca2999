"""
Names that look alike: in other capitals, in other forms of the same letter, or in letters of another alphabet.

A name comes in, what the eye sees of it goes out. The letters are those of Cyrillic and Greek that print as a Latin
one; the pairs follow the confusables of Unicode Technical Standard #39, by eye from memory and without its rarer ones.
"""

from __future__ import annotations

import unicodedata

_PAIRS = (
    ("АВЕЅІЈКМНОРСТУХ", "ABESIJKMHOPCTYX"),  # Cyrillic capitals
    ("аеѕіјорсухһԁԛԝ", "aesijopcyxhdqw"),  # Cyrillic small letters
    ("ΑΒΕΖΗΙΚΜΝΟΡΤΥΧ", "ABEZHIKMNOPTYX"),  # Greek capitals
    ("ονιρ", "ovip"),  # Greek small letters
)
_LATIN = str.maketrans("".join(other for other, _ in _PAIRS), "".join(latin for _, latin in _PAIRS))


def seen(name: str) -> str:
    """Return what the eye sees of a name: equal for names that nobody tells apart on paper."""
    return unicodedata.normalize("NFKC", name).translate(_LATIN).casefold()


def told_apart(name: str, other: str) -> str:
    """Say by which letter a name differs from one that looks the same; nothing where it looks different."""
    if seen(name) != seen(other) or name.casefold() == other.casefold():
        return ""
    pairs = zip(unicodedata.normalize("NFKC", name), unicodedata.normalize("NFKC", other), strict=False)
    words = [
        f'they look alike, but "{mine}" is {unicodedata.name(mine)}, not {unicodedata.name(theirs)}'
        for mine, theirs in pairs
        if mine.translate(_LATIN) == theirs.translate(_LATIN) and mine != theirs
    ]
    return words[0] if words else "they look alike, but are made of other characters"
