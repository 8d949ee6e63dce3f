"""How wide a text is in a sans-serif font, for what has to fit beside it; never less than what common fonts need.

Fonts differ between machines, and nobody is asked which one is there. So each character has the greater of its widths
in DejaVu Sans (wide) and Liberation Sans (of the widths of Helvetica and Arial), rounded up to 0.02 of the letters'
size. A character that is not in the tables counts by its class: wide East Asian and emoji, mark, or other.
"""

from __future__ import annotations

FAMILY = "Helvetica, Arial, 'Liberation Sans', 'DejaVu Sans', sans-serif"
ASCENT, DESCENT = 0.78, 0.25  # of the size: the tops of capitals and of b and d, and how far g and p go down
WIDE, OTHER = 1400, 1200  # for characters without a width of their own, in thousandths of the size


def _table(groups: dict[int, str]) -> dict[str, int]:
    return {char: width for width, chars in groups.items() for char in chars}


PLAIN = _table(
    {
        280: "'ijlìíîïĩīĭįıĵĺļ",
        300: "IÌÍÎÏĨĪĬĮİł",
        320: " ,.·‘’",
        340: "/:;\\|¦",
        360: "fŀſ",
        380: "-ľ",
        400: "()[]tţťŧ‹›",
        420: "!r¡²³¹ŕŗř",
        460: '"',
        480: "ªº",
        500: "*J`¨°´¸Ĵ",
        520: "“”„",
        540: "szśŝşšźżž",
        560: "?L_c§¯çćĉċčĳĹĻĽĿ–",
        580: "kķĸŁ",
        600: "vxyýÿŷ•",
        620: "FTaeo«»¿àáâãäåèéêëðòóôõöøāăąēĕėęěōŏőŢŤŦ",
        640: "$0123456789bdghnpqu{}¢£¤¥µ¶ßñùúûüþďđĝğġģĥńņňŋũūŭůűųβμ€√",
        680: "EKPSYÈÉÊËÝÞĒĔĖĘĚĶŚŜŞŠŶŸ",
        700: "ABVXZÀÁÂÃÄÅĀĂĄħŹŻŽΔ",
        740: "CRUÇÙÚÛÜĆĈĊČĲŔŖŘŨŪŬŮŰŲ",
        760: "HNÑĤŃŅŇŊ",
        780: "&DGÐĎĐĜĞĠĢΩ△◆",
        800: "OQÒÓÔÕÖØŌŎŐ",
        820: "wŉŵ",
        840: "#+<=>^~¬±×÷↑↓−∞≈≤≥✓✗",
        880: "M○●",
        920: "Ħ",
        960: "%■□",
        980: "m¼½¾",
        1000: "W©®ÆæŴ—…←→▲▼",
        1020: "@",
        1040: "œ",
        1080: "Œ",
    }
)
STRONG = _table(
    {
        320: "'",
        360: " ijlìíîïĩīĭįıĵĺļ",
        380: ",./I\\|¦·ÌÍÎÏĨĪĬĮİł‘’",
        400: ":;",
        420: "-‹›",
        440: "f²³¹ſ",
        460: "!()[]¡",
        480: "tľţťŧ",
        500: "`r¨°´¸ŕŗř",
        540: '"*',
        560: "J_§¯Ĵŀ–",
        580: "ªº",
        600: "cszçćĉċčśŝşšźżž",
        620: "?¿",
        640: "L¤¶ĹĻĽĿ•",
        660: "vxy«»ýÿŁŷ“”„",
        680: "aekàáâãäåèéêëāăąēĕėęěķĸ√",
        700: "$0123456789EFTo¢£¥ÈÉÊËðòóôõöøĒĔĖĘĚĳōŏőŢŤŦ€",
        720: "bdghnpqu{}ßñùúûüþďđĝğġģĥńņňŋũūŭůűųβ",
        740: "CPSYZµÇÝÞĆĈĊČŚŜŞŠŶŸŹŻŽμ",
        780: "ABKRVXÀÁÂÃÄÅĀĂĄĶŔŖŘΔ△◆",
        800: "ħĲ",
        820: "UÙÚÛÜŨŪŬŮŰŲ",
        840: "#+<=>DGHN^~¬±ÐÑ×÷ĎĐĜĞĠĢĤŃŅŇŊ↑↓−∞≈≤≥✓✗",
        860: "OQÒÓÔÕÖØŌŎŐΩ",
        880: "&○●",
        940: "wŵ",
        960: "■□",
        980: "Ħ",
        1000: "@M©®ŉ—…←→▲▼",
        1020: "%",
        1040: "¼½¾",
        1060: "mæ",
        1100: "Æœ",
        1120: "WŴ",
        1180: "Œ",
    }
)


def width(text: str, size: float, strong: bool = False) -> float:
    """How wide one line of text is at most, in the unit of ``size``; ``strong`` letters are wider."""
    table = STRONG if strong else PLAIN
    return sum(table.get(char) or _unlisted(char) for char in text) * size / 1000


def _unlisted(char: str) -> int:
    from unicodedata import category, east_asian_width

    if category(char) in ("Mn", "Me", "Cf"):
        return 0
    return WIDE if east_asian_width(char) in "WF" or char >= "\U0001f000" else OTHER


def shortened(text: str, size: float, most: float, strong: bool = False) -> str:
    """The text, or as much of its beginning as is at most so wide with an ellipsis behind it."""
    if width(text, size, strong) <= most:
        return text
    room = most - width("…", size, strong)
    kept = 0
    for char in text:
        room -= width(char, size, strong)
        if room < 0:
            break
        kept += 1
    return text[:kept].rstrip() + "…"


def wrapped(text: str, size: float, most: float) -> list[str]:
    """Text broken at blanks into lines of at most so many px; what is longer in itself is shortened."""
    lines: list[str] = []
    for word in text.split():
        if lines and width(f"{lines[-1]} {word}", size) <= most:
            lines[-1] += f" {word}"
        else:
            lines.append(shortened(word, size, most))
    return lines
