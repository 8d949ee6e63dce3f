"""Random edits of a long rig, replayed through the server, and what they take.

After each edit the findings that the server publishes are held against a fresh check of the text.
"""

from __future__ import annotations

import asyncio
import gc
import random
import re
import time
from collections.abc import Iterator
from pathlib import Path
from statistics import median, quantiles

from lsprotocol import types as lsp
from session import Session, session_async

from rigspec.check import Report, check
from rigspec.server.protocol import WAIT_S
from rigspec.text.source import Refused, Source

ROUNDS, SEED = 200, 5
STATEMENTS = ("feed more { level 4 dBu }\n", "amp spare_amp is twin-900\n", "spare bass_1.2\n")
Edit = tuple[int, int, str]
Told = tuple[str, str, int, int, str]
Took = tuple[float, float, float]  # ms from a change to its findings, ms of a fresh check alone, MB of the server


def edits(text: str, rounds: int, seed: int) -> Iterator[tuple[Edit, str]]:
    """Edits as somebody makes them who writes a rig, each with the text after it; slips are put right in the end."""
    rng = random.Random(seed)
    undo: list[Edit] = []
    for _ in range(rounds):
        if undo and (len(undo) > 4 or rng.random() < 0.4):
            start, end, new = undo.pop()
        else:
            start, end, new = _edit(text, rng)
            undo.append((start, start + len(new), text[start:end]))
        text = text[:start] + new + text[end:]
        yield (start, end, new), text


def _edit(text: str, rng: random.Random) -> Edit:
    at = rng.randrange(len(text))
    line = text.rfind("\n", 0, at) + 1
    line_end = text.find("\n", at) + 1 or len(text)
    match rng.randrange(8):
        case 0:  # a figure becomes another one
            digit = re.compile(r"\d").search(text, at)
            return (digit.start(), digit.end(), str(rng.randrange(10))) if digit else (at, at, "1")
        case 1:  # a character is typed
            return at, at, rng.choice('abz019 .->{}()[]";#,\u03a9\U0001f50a')
        case 2:  # a character is rubbed out
            return at, at + 1, ""
        case 3:  # a comment, or an empty line
            return line, line, rng.choice(("\n", "# to be asked\n"))
        case 4:  # a line is taken out
            return line, line_end, ""
        case 5:  # a line is written twice
            return line, line, text[line:line_end]
        case 6:  # a new statement
            return (
                line,
                line,
                rng.choice(("feed more { level 4 dBu }\n", "amp spare_amp is twin-900\n", "spare bass_1.2\n")),
            )
        case _:  # a name becomes another one
            name = re.compile(r"[a-z_]+_\d+").search(text, at)
            return (name.end(), name.end(), "0") if name else (at, at, "x")


def nothing_used(user: str, used: str) -> Refused:
    return Refused(used, "nothing is used here")


def told(report: Report) -> list[Told]:
    return [(f.rule, f.message, f.span.start, f.span.end, f.severity.value) for f in report.findings]


def published(here: Session, uri: str, diagnostics: list[lsp.Diagnostic]) -> list[Told]:
    """What the server tells, with offsets."""
    text = here.texts[uri]
    starts = [0]
    for line in text.split("\n"):
        starts.append(starts[-1] + len(line) + 1)
    words = {1: "error", 2: "warning", 3: "advice"}

    def offset(position: lsp.Position) -> int:
        start = starts[position.line]
        if here.encoding == "utf-32":
            return start + position.character
        return here.offset(text[start : starts[position.line + 1]], lsp.Position(0, position.character)) + start

    return [
        (str(d.code), d.message, offset(d.range.start), offset(d.range.end), words[int(d.severity or 0)])
        for d in diagnostics
    ]


def memory_mb(pid: int) -> float:
    """What a process holds in memory now."""
    facts = Path(f"/proc/{pid}/status").read_text(encoding="ascii")
    return int(re.search(r"VmRSS:\s*(\d+)", facts)[1]) / 1024  # type: ignore[index]


async def replay(here: Session, text: str, rounds: int, seed: int) -> list[Took]:
    """Make the edits one by one, and say what each took."""
    uri = here.open("long.rig", text)
    assert published(here, uri, await here.findings(uri)) == told(check(Source("long.rig", text), nothing_used))
    took: list[Took] = []
    for (start, end, new), after in edits(text, rounds, seed):
        began = time.perf_counter()
        here.edit(uri, start, end, new)
        diagnostics = await here.findings(uri)
        waited = time.perf_counter()
        assert here.texts[uri] == after
        fresh = check(Source("long.rig", after), nothing_used)
        checked = time.perf_counter()
        assert published(here, uri, diagnostics) == told(fresh)
        held = memory_mb(here.client._server.pid)  # type: ignore[union-attr]
        took.append(((waited - began) * 1000, (checked - waited) * 1000, held))
    return took


def main() -> None:
    import tempfile

    from speed import field, rig

    gc.disable()  # as a command does, and the server
    parts, mains = "parts that do not touch", "one mains for all"
    for what, text in ((parts, rig(500)), (parts, rig(2_000)), (mains, field(250)), (mains, field(1_000))):
        with tempfile.TemporaryDirectory() as folder:
            found: list[Took] = []

            async def body(here: Session, text: str = text, found: list[Took] = found) -> None:
                found.extend(await replay(here, text, ROUNDS, SEED))

            asyncio.run(session_async(Path(folder), body, ("utf-32",), None))
            waits, checks, memory = zip(*found, strict=True)
            print(
                f"{ROUNDS} edits of {text.count(chr(10)):,} lines, {what}: from a change to its findings median "
                f"{median(waits):.0f} ms, 95th percentile {quantiles(waits, n=20)[-1]:.0f} ms, longest "
                f"{max(waits):.0f} ms, with {WAIT_S * 1000:.0f} ms until nothing more is typed; a check alone "
                f"{median(checks):.0f} ms; memory {memory[20]:.0f} MB after 20 edits, {memory[-1]:.0f} MB after all, "
                f"at most {max(memory):.0f}"
            )
            gc.collect()
