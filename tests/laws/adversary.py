"""Texts that nobody would write, by size: each is small, and asks for very much."""

from __future__ import annotations

STOCK = """\
stock amp twin { channels 2; rated 400 W at 4 ohm; least-load 4 ohm; gain 29 dB; input 20 kohm }
stock speaker top { impedance 8 ohm; rated 350 W continuous }
stock processor cross { inputs 2; outputs 2; input 20 kohm }
feed f { level 4 dBu; peak 18 dBu }
amp a is twin
"""
BOX = STOCK + "speaker s is top { at 0 m, 0 m }\nf -> a.1 -> lead 2.5 mm2 10 m -> s\n"


def _each(count: int, text: str) -> str:
    """The text so many times; ``%`` stands for its number, ``<`` for the one before."""
    return "".join(text.replace("%", str(at)).replace("<", str(at - 1)) for at in range(1, count + 1))


def counted(word: str, sort: str) -> str:
    """A thing of so many channels, lines, legs ... that it would take all memory."""
    if sort in ("split", "mains"):
        return f"{BOX}{sort} z {{ {word} 1000000000 }}\n"
    return f"{BOX}stock {sort} vast {{ {word} 1000000000 }}\n{sort} z is vast\n"


def index(count: int) -> str:
    return f"{STOCK}speaker s[{', '.join(['1..1000'] * count)}] is top\n"


def index_used(count: int) -> str:
    return f"{STOCK}speaker s[1..1000] is top\ngroup g: s[{', '.join(['1..1000'] * count)}]\n"


def rows(count: int) -> str:
    return STOCK + _each(count, "speaker s%[1..1000] is top\n")


def named_again(count: int) -> str:
    return f"{STOCK}speaker s[1..1000] is top\ngroup g: {', '.join(['s[*]'] * count)}\n"


def groups(count: int) -> str:
    return f"{BOX}speaker t is top\ngroup g0: s, t\n" + _each(count, "group g%: g<, g<\n")


def groups_unknown(count: int) -> str:
    return f"{BOX}group g0: s, nobody\n" + _each(count, "group g%: g<, g<\n")


def _in_series(count: int, second: str) -> str:
    made = _each(count, "processor p% is cross\np%.1 { from a, b }\np%.2 { from a, b" + second + " }\n")
    ways = _each(count, "p<.1 -> p%.a\np<.2 -> p%.b\n").replace("p0.1", "f").replace("p0.2", "f")
    return f"{STOCK}speaker s is top\n{made}{ways}p{count}.1 -> a.1 -> lead 2.5 mm2 10 m -> s\n"


def summed(count: int) -> str:
    return _in_series(count, "")


def summed_turned(count: int) -> str:
    return _in_series(count, "; inverted; delay 1 ms")


def unknown(count: int) -> str:
    declared = _each(count, "speaker speaker_number_% is top\n")
    return STOCK + declared + _each(count, "a.2 -> speakre_nubmer_%x\n")


def unknown_kinds(count: int) -> str:
    return _each(count, "stock speaker kind-% { impedance 8 ohm }\nspeaker s% is knid-%x\n")


def unknown_members(count: int) -> str:
    return STOCK + _each(count, "speaker row_%[1..4] is top\nspare row_%[5]\n")


def long_name(count: int) -> str:
    return f"{STOCK}speaker {'x' * count} is top\nspare {'x' * count}y\nfeed g {{ level 4 {'y' * count} }}\n"


def linked(count: int) -> str:
    """A row that is longer than functions may call each other."""
    row = f"a.1 -> lead 4 mm2 2 m -> s[1..{count}] linked 4 mm2 1 m"
    return f"{STOCK}speaker s[1..{count}] is top\nf -> {row}\nexpect difference between s[*] < 1 dB\n"


def label(count: int) -> str:
    return BOX.replace("at 0 m", f'label "{"x" * count}"; at 0 m')


def spread(count: int) -> str:
    return STOCK + _each(count, "speaker s% is top { at % m, 0 m }\n")


def faulty(count: int) -> str:
    return BOX + _each(count, "expect load of a.1 >= % kohm\n")


def curves(count: int) -> str:
    curve = ", ".join(f"{5 + at % 7} ohm at {30 + at} Hz" for at in range(100))
    return f"{STOCK}stock speaker c {{ impedance 8 ohm; curve {curve} }}\nspeaker s[1..{count}] is c\n"


def nested(count: int) -> str:
    return STOCK + "speaker s is top\na.1 -> " + "series(" * count + "s" + ")" * count + "\n"


def hops(count: int) -> str:
    return f"{STOCK}speaker s is top\nf -> a.1 -> {'lead 2.5 mm2 1 m -> ' * count}s\n"


def comment(count: int) -> str:
    return f"# {'x' * count}\n{BOX}"


def line(count: int) -> str:
    return f"{'x ' * count}\n{BOX}"


def uses(count: int) -> str:
    return _each(count, 'use "f%.rig"\n') + BOX
