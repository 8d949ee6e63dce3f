"""A stranger with the sheets in the hand writes a rig file: nothing is taken but the words of their rows and notes."""

from __future__ import annotations

import re
from collections.abc import Iterable

from rigspec.check import Report
from rigspec.sheets.sheet import Cell, SheetMark
from rigspec.sheets.whole import head, sheets

Paper = dict[str, list[dict[str, str]]]
UNSAID = {"", "not said", "none said", "not given", "None"}
TURNS = {"straight": 0, "CROSSED": 1, "CROSSED TWICE": 2}


def words(cell: Cell) -> str:
    return cell.text if isinstance(cell, SheetMark) else str(cell)


def rows_of(report: Report) -> Paper:
    """The rows of all tables as words under their heads, by sheet and table; notes under the sheet's word."""
    paper: Paper = {"head": [{"rig": head(report).rig}]}
    for sheet in sheets(report):
        paper[f"{sheet.word} notes"] = [{"note": note} for note in sheet.notes]
        for table in sheet.tables:
            rows = [dict(zip(table.heads, map(words, row), strict=True)) | {"at": table.part} for row in table.rows]
            paper.setdefault(f"{sheet.word} {table.word}", []).extend(rows)
    return paper


def braces(*made: str) -> str:
    kept = [each for each in made if each]
    return f" {{ {'; '.join(kept)} }}" if kept else ""


def setting(word: str, value: str) -> str:
    return "" if value in UNSAID else f"{word} {value}"


def quoted(word: str, value: str) -> str:
    return f'{word} "{value}"' if value else ""


def in_unit(text: str, unit: str) -> str:
    """A size or a length as it is written in a rig: bare figures are in the unit of the head."""
    text = re.sub(r".*\((.*)\)", r"\1", text)
    text, _, made = text.partition(" solid")
    shown = text if text[-1].isalpha() else " to ".join(f"{each} {unit}" for each in text.split(" to "))
    return f"{shown} solid" if made else shown


def names_in(text: str) -> list[str]:
    return re.split(r", (?![^\[]*\])", text)


# ---- the rig as a whole ---------------------------------------------------------------------------------------------


def whole(paper: Paper) -> list[str]:
    """The rig's own facts, and the stock."""
    facts, limits, uses = [], [], []
    for row in paper["promises ground"]:
        what, said = row["what"], row["as the rig says it"]
        if what.startswith("limit of this company: "):
            limits.append(f"{what.rpartition(': ')[2]} {said}")
        elif what == "stock":
            uses.append(f'use "{said.removeprefix("samples/")}"')
        else:
            facts.append(f"{what} {said}")
    facts += [f"limits {{ {'; '.join(limits)} }}"] if limits else []
    return [f'rig "{paper["head"][0]["rig"]}"{braces(*facts)}', *uses]


def inverted(row: dict[str, str]) -> str:
    return "inverted" if row["polarity"] == "INVERTED" else ""


def feeds(paper: Paper) -> list[str]:
    lines = []
    for row in paper.get("channels feeds", []):
        made = [setting("level", row["nominal"]), setting("peak", row["peak"])]
        made += [setting("source", row["source impedance"]), setting("band", row["band"]), inverted(row)]
        lines.append(f"feed {row['feed']}{braces(*made)}")
    for row in paper.get("channels splits", []):
        made = [row["how"], f"legs {row['legs']}", setting("loss", row["loss"])]
        made += [setting("input", row["input impedance"]), setting("source", row["source impedance"]), inverted(row)]
        lines.append(f"split {row['split']}{braces(*made, quoted('label', row['label']))}")
    return lines + [f"mix {row['mix']}: {row['sum of']}" for row in paper.get("channels mixes", [])]


# ---- gear -----------------------------------------------------------------------------------------------------------


def gear(paper: Paper) -> list[str]:
    """Declarations, from the pack list, and what is said of each beyond its kind."""
    lines = []
    labels: dict[str, str] = {}
    for row in paper["pack gear"]:
        word = {"amplifier": "amp", "loudspeaker": "speaker"}.get(row["sort"], row["sort"])
        if word == "split":
            continue
        names, _, told = row["names"].partition(" (")
        labels |= dict(re.findall(r'(\S+) "([^"]*)"', told))
        lines += [f"{word} {name} is {row['kind']}" for name in names_in(names)]
    lines += [f'{name} {{ label "{label}" }}' for name, label in labels.items()]
    for row in paper.get("places stands", []):
        at = [row[each] for each in ("across (m)", "along (m)", "up (m)") if row[each]]
        aim = [row[each] for each in ("aim across (deg)", "aim up (deg)") if row[each]]
        made = [row["as written"]] if row["as written"] else []
        if not made:
            made += ["at " + ", ".join(f"{each} m" for each in at)] if at else []
            made += ["aim " + ", ".join(f"{each} deg" for each in aim)] if aim else []
        lines.append(f"{row['loudspeaker']}{braces(*made)}")
    for row in paper.get("channels boxes", []):
        tap = re.match(r"tap [\d.]+ \w+", row["set"])
        lines += [f"{row['loudspeaker']} {{ {tap[0]} }}"] if tap else []
    for row in paper.get("channels others", []):
        for each in row["set in the rig"].split("; "):
            turned = re.fullmatch(r"line (\d+) CROSSED inside", each)
            lines.append(f"{row['thing']}.{turned[1]} {{ inverted }}" if turned else f"{row['thing']} {{ {each} }}")
    for row in paper["patch notes"]:
        label = re.fullmatch(r'(\S+) is labelled "(.*)"\.', row["note"])
        lines += [f'{label[1]} {{ label "{label[2]}" }}'] if label else []
    return lines


def outputs(paper: Paper) -> list[str]:
    """What is set at processors and amplifiers."""
    lines = []
    for row in paper.get("channels processors", []):
        delay = re.sub(r".*\((.*)\)", r"\1", row["delay"])
        takes = "" if row["takes"] == "spare" else setting("from", row["takes"])
        made = [takes, setting("high-pass", row["high-pass"]), setting("low-pass", row["low-pass"]), inverted(row)]
        gain, _, of_all = row["gain"].partition(", and ")
        made += [setting("gain", gain.removeprefix("none")), setting("delay", delay), *limiter(row)]
        lines.append(f"{row['output']}{braces(*made, quoted('label', row['label']))}")
        of_all = of_all.removesuffix(" of the whole processor")
        lines += [f"{row['output'].rpartition('.')[0]} {{ gain {of_all} }}"] if of_all else []
    switches: dict[tuple[str, str], dict[str, None]] = {}
    for row in paper.get("channels amps", []):
        switch = re.match(r"(?:input|bridge) switch (\d\+\d)", row["mode"])
        word = "joined" if row["mode"].startswith("input switch") else "bridge"
        if switch:
            switches.setdefault((row["channel"].rpartition(".")[0], word), {})[switch[1]] = None
        if not row["mode"].startswith("spare"):
            made = [setting("attenuator", row["control"]), inverted(row), *row["filters"].split(", "), *limiter(row)]
            lines.append(f"{row['channel']}{braces(*made)}")
    return lines + [f"{name} {{ {word} {', '.join(pairs)} }}" for (name, word), pairs in switches.items()]


def limiter(row: dict[str, str]) -> list[str]:
    if row["limiter"].startswith(("PROPOSED", "at ")) or not row["limiter"]:
        return []
    attack, _, release = row["times"].partition(" / ")
    return [f"limit {row['limiter']}", setting("attack", attack), setting("release", release)]


# ---- leads and paths ------------------------------------------------------------------------------------------------


def named_leads(paper: Paper) -> list[str]:
    """Leads that have a name, with their ends and labels."""
    lines = []
    for row in paper.get("leads leads", []):
        if not row["name"]:
            continue
        kind = re.sub(r" \d+ pairs$", "", row["kind"])
        long = in_unit(row["length (m)"], "m")
        made = f"is {kind} {long}" if kind else f"{in_unit(row['size (mm2)'], 'mm2')} {long}"
        ends = [row[end].partition(": ")[0] for end in ("near end", "far end") if ": " in row[end]]
        told = ", ".join(f'"{end}"' for end in ends)
        label = row["label text"].removesuffix(" CROSSED").partition(" ")[2]
        own = quoted("label", label if label != row["name"] else "")
        turned = re.findall(r"pair (\d+): made crossed", row["polarity"])
        turn = f"inverted {', '.join(turned)}" if turned else "inverted" if "made crossed" in row["polarity"] else ""
        lines.append(f"lead {row['name']} {made}{braces(f'ends {told}' if told else '', own, turn)}")
    return lines


def hop(leads: dict[str, dict[str, str]], number: str) -> str:
    """A lead on a path: by its name and pair, by its kind, or by its size."""
    row = leads[number.split()[0]]
    if row["name"]:
        return f"{row['name']}.{number.split()[-1]}" if " pair " in number else row["name"]
    return f"lead {row['kind'] or in_unit(row['size (mm2)'], 'mm2')} {in_unit(row['length (m)'], 'm')}"


def paths(paper: Paper) -> list[str]:
    """Paths, from the patch list and the lead list."""
    leads = {row["lead"]: row for row in paper.get("leads leads", [])}
    bridged = dict(
        re.findall(r"^(.*)\.(\d\+\d) out", row["from"])[0] for row in paper.get("patch power", []) if "+" in row["from"]
    )
    lines: list[str] = []
    heads: dict[str, str] = {}
    circuits: dict[str, dict[str, list[str]]] = {}
    for row in [row for sort in ("signal", "power", "mains") for row in paper.get(f"patch {sort}", [])]:
        if row["to"] == "left open":
            continue
        ends = (r" (out|link|outlet)$|^(feed|mix) |, between the hot poles$", r" (in|inlet)(, CROSSED inside)?$")
        hops = [re.sub(ends[0], "", row["from"]).removesuffix(" out")]
        hops += [hop(leads, number) for number in ([] if row["lead"] == "none said" else row["lead"].split(", "))]
        turns = TURNS[row["polarity"]] - row["on the way"].count("made crossed")
        if "near end" in row["on the way"]:
            hops.insert(1, "invert")
            turns -= 1
        hops += ["invert"] * turns
        hops += [
            each.partition(",")[0] for each in row["on the way"].split("; ") if each.startswith(("pad ", "delay "))
        ]
        hops.append(re.sub(ends[1], "", row["to"]))
        name, _, port = hops[-1].rpartition(".")
        if name in bridged and port == bridged[name].partition("+")[0]:
            hops[-1] = f"{name}.{bridged[name]}"
        loop = re.fullmatch(r"(junction \d+)(?:, circuit (\w))?, loop \d+ of \d+", row["from"])
        if loop:
            circuits.setdefault(loop[1], {}).setdefault(loop[2] or "", []).append(" -> ".join(hops[1:]))
        elif hops[-1].startswith("junction "):
            heads[hops[-1]] = " -> ".join(hops[:-1])
        else:
            lines.append(" -> ".join(hops))
    for name, parts in circuits.items():
        series = [f"series({', '.join(loops)})" for loops in parts.values()]
        lines.append(f"{heads[name]} -> {series[0] if len(series) == 1 else 'parallel(' + ', '.join(series) + ')'}")
    return lines


# ---- mains, places, lists, promises ---------------------------------------------------------------------------------


def mains(paper: Paper) -> list[str]:
    volts = [re.fullmatch(r"(\S+): (\S+) V from each phase to neutral\.", row["note"]) for row in paper["mains notes"]]
    supplies = {found[1]: f"{found[2]} V" for found in volts if found}
    lines = []
    for row in paper.get("mains parts", []):
        above = "" if row["from"] == "the supply" or row["from"].startswith("generator") else f" from {row['from']}"
        phases = row["phases"].split("+")
        made = [setting("supply", supplies.get(row["part"], ""))]
        made += [row["from"] if row["from"].startswith("generator") else ""]
        made += [f"phases {len(phases)}" if len(phases) > 1 else f"phase {phases[0]}" if phases != ["L"] else ""]
        made += [setting("breaker", row["breaker"]), setting("residual", row["residual"])]
        if row["lead (mm2)"]:
            made.append(f"lead {in_unit(row['lead (mm2)'], 'mm2')} {in_unit(row['lead (m)'], 'm')}")
        made += [setting("outlets", row["outlets"]), quoted("label", row["label"])]
        made += [f"draw {found}" for found in re.findall(r"and (.*) besides this rig", row["feeds"])]
        made += ["sequence"] if "switched on one by one" in row["feeds"] else []
        lines.append(f"mains {row['part']}{above}{braces(*made)}")
    return lines


def places(paper: Paper) -> list[str]:
    lines = []
    for row in paper.get("places listeners", []):
        at = [row[each] for each in ("across (m)", "along (m)", "up (m)") if row[each]]
        made = [row["as written"] or f"at {', '.join(f'{each} m' for each in at)}"]
        if not row["as written"] and row["ears at (m)"] not in UNSAID:
            made.append(f"height {row['ears at (m)']} m")
        made += [setting("hears", row["hears"]), quoted("label", row["label"])]
        lines.append(f"place {row['place']}{braces(*made)}")
    for row in paper.get("places areas", []):
        made = [f"corner {each}" for each in row["corners, across and along"].split("; ")]
        made += [f"height {row['ears at (m)']} m"] if row["ears at (m)"] not in UNSAID else []
        made += [setting("hears", row["hears"]), quoted("label", row["label"])]
        lines.append(f"area {row['area']}{braces(*made)}")
    return lines


def lists(paper: Paper) -> Iterable[str]:
    for row in paper.get("promises lists", []):
        yield f"{row['list'].removesuffix(' pair')} {row['name']}: {row['holds']}{braces(row['meant to be'])}"
    for row in paper.get("pack racks", []):
        yield f"rack {row['rack']}: {row['holds']}"
    spares = {row["socket"]: None for row in paper.get("patch places", []) if row["goes"] == "nothing: it is a spare"}
    for row in paper.get("leads spares", []):
        name = next(lead["name"] for lead in paper["leads leads"] if lead["lead"] == row["lead"])
        if row["said to be a spare"] != "no":
            said = row["said to be a spare"] if row["said to be a spare"] != "yes" else row["what is free"]
            pairs = re.findall(r"\d+", said)
            spares |= dict.fromkeys([f"{name}.{pair}" for pair in pairs] or [name])
    if spares:
        yield f"spare {', '.join(spares)}"


COMPARED = {"at least": ">=", "at most": "<=", "more than": ">", "less than": "<"}


def promises(paper: Paper) -> Iterable[str]:
    for row in paper.get("promises promises", []):
        found = re.match("|".join(COMPARED), row["promised"])
        wanted = f"{COMPARED[found[0]]}{row['promised'][found.end() :]}" if found else f"= {row['promised']}"
        of = row["of"] if row["of"].startswith("at ") else f"of {row['of']}"
        yield f"expect {row['figure']} {of} {wanted}"
    for row in paper.get("promises readings", []):
        yield f"measured {row['figure']} of {row['of']} {row['measured']}"
    for row in paper.get("promises accepted", []):
        yield f'allow {row["finding"]} on {row["on"]} because "{row["because"]}"'


def written(paper: Paper) -> str:
    """The rig file that the sheets give."""
    parts = (whole, feeds, gear, outputs, named_leads, mains, paths, places, lists, promises)
    return "\n".join(line for part in parts for line in part(paper)) + "\n"
