"""The texts that an editor holds open, the files that they use, and the report of each rig among them."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from urllib.parse import unquote, urlsplit

from attrs import evolve, frozen

from rigspec.check import Report, check, in_order
from rigspec.finding import Edit, Finding, Fix
from rigspec.fixing import harm, texts_with
from rigspec.memory import Memory
from rigspec.parse.again import Rereader
from rigspec.parse.reader import parse
from rigspec.resolve.files import gather
from rigspec.resolve.values import Faults
from rigspec.server.mentions import mentions
from rigspec.server.sight import Sight
from rigspec.source import Source
from rigspec.syntax import File
from rigspec.texts.files import SUFFIX, Stamp, Unreadable, read, shown_path, stamp
from rigspec.texts.library import Library
from rigspec.value import Value

MOST_PROJECT_FILES = 1000  # rigs of a project that are looked through for a name
MOST_PROJECT_FOLDERS = 2000  # somebody's whole home may be the folder of a rig
COLLECT_EVERY = 50  # checks


@frozen(eq=False, repr=False)
class Document(Value):
    """A text that is open: how the editor calls it, the real path of its file, and what it holds now."""

    uri: str
    place: str
    source: Source
    version: int


@frozen(eq=False, repr=False)
class Checked(Value):
    """The report of an open rig, and the paths of all files that were read for it."""

    report: Report
    seen: frozenset[str]


class Texts(Library):
    """Files as they are now: what is open comes first, what is on disk is read anew when it has changed."""

    def __init__(self) -> None:
        super().__init__()
        self.held: dict[str, Source] = {}  # what is open, by its real path
        self.trial: dict[str, Source] = {}  # what is tried in its place
        self._disk: dict[str, tuple[Stamp, Source]] = {}
        self._readers: dict[str, Rereader] = {}

    def read(self, path: str) -> Source | Unreadable:
        try:
            place = os.path.realpath(path)
        except (OSError, ValueError):
            return super().read(path)
        source = self.trial.get(place) or self.held.get(place)
        return source if source is not None else self._from_disk(path, place)

    def _from_disk(self, path: str, place: str) -> Source | Unreadable:
        now = stamp(place)
        kept = self._disk.get(place)
        if kept is not None and now is not None and kept[0] == now:
            return kept[1]
        source = read(path, kept[1].path if kept is not None else shown_path(path))
        if isinstance(source, Source):
            self._disk[place] = (now, source)
            self._keep(place, source)
        return source

    def parse(self, source: Source) -> File:
        """The parse of a text; of one that is not merely tried, from what was read of it before."""
        if self.trial:
            return parse(source)
        return self._readers.setdefault(source.path, Rereader()).parse(source)

    def hold(self, place: str, source: Source) -> None:
        """From now on the editor says what is in this file."""
        self.held[place] = source
        self._keep(place, source)

    def release(self, place: str) -> None:
        """From now on the disk says what is in this file."""
        self.held.pop(place, None)
        self._disk.pop(place, None)

    def forget_roots(self) -> None:
        """Look anew for the folders where projects begin."""
        self._roots.clear()


def path_of(uri: str) -> str:
    """The path of a file's URI; for other URIs, such as that of a text without a file, the last part of the URI."""
    parts = urlsplit(uri)
    if parts.scheme == "file":
        path = unquote(parts.path)
        return path[1:] if path[2:3] == ":" and path[1:2].isalpha() else path
    return unquote(uri.rpartition("/")[2].rpartition(":")[2]) or "untitled"


class Desk:
    """What is open, checked. ``settle`` brings all reports up to date; whoever asks for one calls it first."""

    def __init__(self) -> None:
        self.texts = Texts()
        self.documents: dict[str, Document] = {}
        self._checked: dict[str, Checked] = {}
        self._memories: dict[str, Memory] = {}  # what the checks of each open text have worked out
        self._refusals: dict[tuple[Finding, Fix], str] = {}  # of the texts as they are
        self._dirty: set[str] = set()
        self.checks = 0
        self.others_changed = False  # did the last change of one text change what is said of another?

    # ---- what the editor does

    def open(self, uri: str, text: str, version: int) -> None:
        path = path_of(uri)
        place = os.path.realpath(path)
        document = Document(uri, place, Source(shown_path(path), text), version)
        self.documents[uri] = document
        self.texts.hold(place, document.source)
        self.everything_changed()

    def change(self, uri: str, text: str, version: int) -> None:
        document = self.documents[uri]
        source = Source(document.source.path, text)
        self.documents[uri] = evolve(document, source=source, version=version)
        self.texts.hold(document.place, source)
        self._dirty.add(uri)
        self._dirty.update(user for user, one in self._checked.items() if source.path in one.seen)

    def close(self, uri: str) -> None:
        document = self.documents.pop(uri, None)
        if document is not None:
            self.texts.release(document.place)
            self._checked.pop(uri, None)
            self._memories.pop(uri, None)
            self._dirty.discard(uri)
            self.everything_changed()

    def everything_changed(self) -> None:
        """Files came, went or changed, so any rig may find another text under a path that it uses."""
        self.texts.forget_roots()
        self._dirty.update(self.documents)

    # ---- reports

    def settle(self) -> bool:
        """Check what has changed; was there something?"""
        if not self._dirty:
            return False
        self.others_changed = len(self._dirty) > 1
        self._refusals.clear()
        for uri in sorted(self._dirty & self.documents.keys()):
            memory = self._memories.setdefault(uri, Memory())
            self._checked[uri] = self._check(self.documents[uri].source, memory)
        self._dirty.clear()
        return True

    def _check(self, source: Source, memory: Memory | None = None) -> Checked:
        reader = self.texts.reader(source)
        report = check(source, reader, self.texts.parse, memory)
        self.checks += 1
        return Checked(report, frozenset(reader.seen))

    def findings(self) -> dict[str, tuple[Finding, ...]]:
        """All findings of what is open, by the URI of the file that they stand in: what `check` of all these says."""
        self.settle()
        found: dict[str, list[Finding]] = {uri: [] for uri in self.documents}
        for one in self._checked.values():
            for finding in one.report.findings:
                found.setdefault(self.uri(finding.span.path), []).append(finding)
        return {uri: in_order(each) for uri, each in found.items()}

    def uri(self, path: str) -> str:
        """How the editor calls the file of a text that was read."""
        place = self.texts.place(path)
        for document in self.documents.values():
            if document.place == place:
                return document.uri
        return Path(place).as_uri()

    def sight(self, uri: str) -> Sight | None:
        """What questions about an open text are asked about."""
        self.settle()
        document, one = self.documents.get(uri), self._checked.get(uri)
        if document is None or one is None:
            return None
        files = {source.path: self.texts.parse(source) for source in one.report.figures.rig.files}
        return Sight(files[document.source.path], files, one.report)

    # ---- other files

    def family(self, sight: Sight, what: str, name: str) -> dict[str, File]:
        """All files of all rigs that know a name from where it is declared: open ones, and those of the project."""
        declaring = {
            each.span.path
            for file in sight.files.values()
            for each in mentions(file, sight.words, sight.kinds)
            if each.declares and (each.what, each.name) == (what, name)
        }
        files = dict(sight.files)
        for source in self._rigs(sight.source):
            if name in source.text or declaring - {source.path}:
                own = self._files_of(source)
                if declaring & own.keys():
                    files.update(own)
        return files

    def _files_of(self, source: Source) -> dict[str, File]:
        gathered = gather(source, self.texts.reader(source), Faults(), self.texts.parse)
        return {file.source.path: file for file in gathered.files}

    def _rigs(self, source: Source) -> Iterator[Source]:
        yield from (document.source for document in self.documents.values())
        for path in self._project(source):
            found = self.texts.read(path)
            if isinstance(found, Source):
                yield found

    def _project(self, source: Source) -> list[str]:
        """The rig files of a text's project, hidden ones left out; of a very large folder a part."""
        found: list[str] = []
        for number, (folder, folders, names) in enumerate(os.walk(self.texts.root(source.path))):
            folders[:] = sorted(name for name in folders if not name.startswith("."))
            found += [os.path.join(folder, name) for name in sorted(names) if name.endswith(SUFFIX) and name[0] != "."]
            if number >= MOST_PROJECT_FOLDERS or len(found) >= MOST_PROJECT_FILES:
                break
        return found[:MOST_PROJECT_FILES]

    def usable(self, source: Source) -> list[str]:
        """The paths of the project's other rig files, as a `use` in this text would write them."""
        own = os.path.realpath(source.path)
        folder = os.path.dirname(own)
        paths = (os.path.relpath(os.path.realpath(path), folder) for path in self._project(source))
        return sorted(path.replace(os.sep, "/") for path in paths if os.path.join(folder, path) != own)

    # ---- what would be

    def refusal(self, finding: Finding, fix: Fix) -> str:
        """Why a fix may not be offered: as on the command line, it has to cure its finding and bring no other.

        Editors ask at every step of the cursor, and to know takes a check: until something changes it is known.
        """
        self.settle()
        known = self._refusals.get((finding, fix))
        if known is None:
            known = self._refusals[finding, fix] = self._refusal(finding, fix)
        return known

    def _refusal(self, finding: Finding, fix: Fix) -> str:
        texts = texts_with(fix)
        if not texts:
            return "its edits contradict each other or change nothing"
        touched = {source.path for source in texts}
        users = [uri for uri, one in self._checked.items() if touched & one.seen]
        before: dict[str, Iterable[Finding]] = {}
        after: dict[str, Iterable[Finding]] = {}
        self.texts.trial = {self.texts.place(source.path): Source(source.path, new) for source, new in texts.items()}
        try:
            for uri in users:
                document = self.documents[uri]
                trial = self.texts.trial.get(document.place, document.source)
                before[uri] = self._checked[uri].report.findings
                after[uri] = self._check(trial).report.findings
        finally:
            self.texts.trial = {}
        return harm(finding, before, after)

    def edits_by_uri(self, edits: Iterable[Edit]) -> Mapping[str, list[Edit]]:
        """Edits by the URI of the file that they change."""
        found: dict[str, list[Edit]] = {}
        for edit in edits:
            found.setdefault(self.uri(edit.span.path), []).append(edit)
        return found
