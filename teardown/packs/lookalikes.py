"""Text as it reads to the eye: wide letters, letters of other alphabets that look like ours, hyphens of every kind.

A word of danger spelt with a strange letter would be read by a person and missed by a search.
"""

from __future__ import annotations

from unicodedata import combining, normalize

_CYRILLIC = {
    **dict(zip("авекмнорстухіјѕһԁԛԝӏгпь", "abekmhopctyxijshdqwlrnb", strict=True)),
    **dict(zip("АВЕКМНОРСТУХІЈЅԌԚԜӀ", "ABEKMHOPCTYXIJSGQWl", strict=True)),
}
_GREEK = {
    **dict(zip("αβγεηικνορτυχωϲϳ", "abyenikvoptuxwcj", strict=True)),
    **dict(zip("ΑΒΕΖΗΙΚΜΝΟΡΤΥΧϹ", "ABEZHIKMNOPTYXC", strict=True)),
}
_ARMENIAN = dict(zip("օոսհցզ", "onuhgq", strict=True))
_LATIN = dict(zip("ıȷɑɡɩɪʀʙɢʟɴʏᴀᴄᴅᴇᴊᴋᴍᴏᴘᴛᴜᴠᴡᴢꜱłđħŧø", "ijagiirbglnyacdejkmoptuvwzsldhto", strict=True))
_HYPHENS = dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2015\u2043\u2212\u02d7\u058a\u05be\u30fb\uff0d", "-")
# the soft hyphen and the zero-width characters, which a pack is refused for anyhow
_INVISIBLE = dict.fromkeys("\xad\u200b\u200c\u200d\u2060\ufeff", "")
AS_PLAIN = str.maketrans({**_CYRILLIC, **_GREEK, **_ARMENIAN, **_LATIN, **_HYPHENS, **_INVISIBLE})


def as_it_reads(text: str) -> str:
    """`text` in plain letters and hyphens, without accents, as a search for words must see it.

    >>> as_it_reads("the \\u0430\\uff49rb\\xe4g\\u2011plug")
    'the airbag-plug'
    """
    if text.isascii():
        return text
    apart = normalize("NFKD", text.translate(AS_PLAIN))
    return "".join(mark for mark in apart if not combining(mark)).translate(AS_PLAIN)
