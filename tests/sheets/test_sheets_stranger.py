"""A stranger builds the rig from the sheets alone, and it is the same rig.

Nothing is taken from the rig file: a new one is written from the rows of the sheets, as words on paper, with the stock
for the gear itself. Then both are checked, and their figures compared.
"""

from __future__ import annotations

import re

import pytest
from making import reported, sample

from rigspec.check import Report
from rigspec.sheets.sheet import Cell, Mark
from rigspec.sheets.whole import sheets

BUILT = (
    "two-box-hall",
    "festival-stage",
    "bi-amped-hang",
    "bridged-sub",
    "feet-and-gauge",
    "monitors",
    "opposed-bass",
    "powered-boxes",
    "series-columns",
    "theatre-panels",
)


def words(cell: Cell) -> str:
    return cell.text if isinstance(cell, Mark) else str(cell)


def rows_of(report: Report) -> dict[str, list[dict[str, str]]]:
    """The rows of all tables as words under their heads, by sheet and table."""
    return {
        f"{sheet.word} {table.word}": [dict(zip(table.heads, map(words, row), strict=True)) for row in table.rows]
        for sheet in sheets(report)
        for table in sheet.tables
    }


def settings(**made: str) -> str:
    return "; ".join(" ".join([word.replace("_", "-"), value]).strip() for word, value in made.items() if value)


def things(paper: dict[str, list[dict[str, str]]]) -> list[str]:
    """Declarations, from the pack list and the settings."""
    lines = [
        f"feed {row['feed']} {{ {settings(level=row['nominal'], peak=row['peak'], band=row['band'])} }}"
        for row in paper["channels feeds"]
    ]
    lines += [f"mix {row['mix']}: {row['sum of']}" for row in paper.get("channels mixes", [])]
    switches: dict[tuple[str, str], dict[str, None]] = {}
    for row in paper.get("channels amps", []):
        switch = re.match(r"(?:input|bridge) switch (\d\+\d)|BRIDGE (\d\+\d)", row["mode"])
        word = "joined" if row["mode"].startswith("input switch") else "bridge"
        if switch:
            switches.setdefault((row["channel"].rpartition(".")[0], word), {})[switch[1] or switch[2]] = None
    for row in paper["pack gear"]:
        word = {"amplifier": "amp", "loudspeaker": "speaker"}.get(row["sort"], row["sort"])
        names = re.sub(r" \(.*\)$", "", row["names"])
        if word == "split":
            how, legs, *loss = row["kind"].split(", ")
            lines.append(f"split {names} {{ {how}; legs {legs.split()[0]}; {'; '.join(loss)} }}")
            continue
        lines += [f"{word} {name} is {row['kind']}" for name in re.split(r", (?![^\[]*\])", names)]
    lines += [f"{name} {{ {word} {', '.join(pairs)} }}" for (name, word), pairs in switches.items()]
    for row in paper.get("channels amps", []):
        if row["control"] not in ("", "not said"):
            lines.append(f"{row['channel']} {{ attenuator {row['control']} }}")
    for row in paper.get("channels processors", []):
        if row["takes"] == "spare":
            continue
        delay = re.sub(r".*\((.*)\)", r"\1", row["delay"])
        made = settings(**{"from": row["takes"], "gain": row["gain"], "delay": delay}, high_pass=row["high-pass"])
        more = settings(low_pass=row["low-pass"], inverted="" if row["polarity"] == "normal" else " ")
        lines.append(f"{row['output']} {{ {made}; {more} }}")
    return lines


def in_unit(text: str, unit: str) -> str:
    """A size or a length as it is written in a rig: bare figures are in the unit of the head."""
    text = re.sub(r".*\((.*)\)", r"\1", text)
    return text if text[-1].isalpha() else " to ".join(f"{each} {unit}" for each in text.split(" to "))


def paths(paper: dict[str, list[dict[str, str]]]) -> list[str]:
    """Paths, from the patch list and the lead list."""
    leads = {row["lead"]: row for row in paper.get("leads leads", [])}
    turns = {"straight": 0, "TURNED": 1, "TURNED TWICE": 2}
    lines: list[str] = []
    heads: dict[str, str] = {}
    circuits: dict[str, dict[str, list[str]]] = {}
    for row in [*paper.get("patch signal", []), *paper.get("patch power", [])]:
        if row["to"] == "left open":
            continue
        hops = [re.sub(r" (out|link)$|^(feed|mix) |, between the hot poles$", "", row["from"]).removesuffix(" out")]
        hops += ["invert"] * turns[row["polarity"]]
        for number in [] if row["lead"] == "none said" else row["lead"].split(", "):
            lead = leads[number.split()[0]]
            hops.append(f"lead {in_unit(lead['size (mm2)'], 'mm2')} {in_unit(lead['length (m)'], 'm')}")
        hops += [each for each in row["on the way"].split("; ") if each.startswith(("pad ", "delay "))]
        hops.append(re.sub(r" in(, TURNED inside)?$", "", row["to"]))
        loop = re.fullmatch(r"(junction \d+)(?:, circuit (\w))?, loop \d+ of \d+", row["from"])
        if loop:
            circuits.setdefault(loop[1], {}).setdefault(loop[2] or "", []).append(" -> ".join(hops[1:]))
        elif hops[-1].startswith("junction "):
            heads[hops[-1]] = " -> ".join(hops[:-1])
        else:
            lines.append(" -> ".join(hops))
        if row["to"].endswith("TURNED inside"):
            lines.append(f"{hops[-1]} {{ inverted }}")
    for name, parts in circuits.items():
        series = [f"series({', '.join(loops)})" for loops in parts.values()]
        lines.append(f"{heads[name]} -> {series[0] if len(series) == 1 else 'parallel(' + ', '.join(series) + ')'}")
    return lines


def built(meant: Report, paper: dict[str, list[dict[str, str]]]) -> Report:
    """The rig of the paper, on a day as warm as the meter sheet says."""
    (meter,) = sheets(meant, ["meter"])
    warm = re.search(r"at (\S+ degC)", meter.notes[0])
    assert warm is not None
    text = [f'rig "from paper" {{ air {warm[1]} }}', 'use "stock/house.rig"', *things(paper), *paths(paper)]
    return reported("\n".join(text) + "\n")


@pytest.mark.parametrize("name", BUILT)
def test_the_rig_that_is_built_from_paper_is_the_rig(name: str) -> None:
    meant = sample(name)
    paper = built(meant, rows_of(meant))
    faults = [finding.message for finding in paper.findings if finding.severity.value == "error"]
    assert faults == []
    assert set(paper.figures.channels) == set(meant.figures.channels)
    reached, right = ({k for k in each.figures.trace.arrivals if "inlet" not in k} for each in (paper, meant))
    assert reached == right
    for key, channel in meant.figures.channels.items():
        other = paper.figures.channels[key]
        assert other.load_ohm == pytest.approx(channel.load_ohm, rel=1e-3), key
        assert other.gain_db == pytest.approx(channel.gain_db), key
    for key, box in meant.figures.boxes.items():
        other_box = paper.figures.boxes[key]
        assert other_box.loss_db == pytest.approx(box.loss_db, rel=1e-2), key
        ways = {(part.feed, (len(part.turns) + len(box.own_turns)) % 2) for part in box.parts}
        assert {(p.feed, (len(p.turns) + len(other_box.own_turns)) % 2) for p in other_box.parts} == ways, key
        delays = sorted(part.delay_s for part in box.parts)
        assert sorted(part.delay_s for part in other_box.parts) == pytest.approx(delays, rel=2e-3), key


def test_the_festival_is_rebuilt_with_a_fault_if_one_row_is_plugged_wrong() -> None:
    """The comparison sees a crossing that is left out."""
    meant = sample("festival-stage")
    paper = rows_of(meant)
    row = next(row for row in paper["patch power"] if row["polarity"] == "TURNED")
    row["polarity"] = "straight"
    wrong = built(meant, paper)
    box = wrong.figures.boxes[row["to"]]
    right = meant.figures.boxes[row["to"]]
    assert (len(box.own_turns) - len(right.own_turns)) % 2 == 1
