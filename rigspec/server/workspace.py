"""The texts that an editor holds open, the files that they use, and the report of each rig among them."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from urllib.parse import unquote, urlsplit

from attrs import evolve, field, frozen

from rigspec.check import Report, check, in_order
from rigspec.files.files import SUFFIX, Stamp, Unreadable, read, shown_path, stamp
from rigspec.files.fixing import harm, texts_with
from rigspec.files.library import Library
from rigspec.language.reader import parse
from rigspec.language.syntax import File
from rigspec.rig.files import gather
from rigspec.rig.model import Rig
from rigspec.rig.resolve import resolve
from rigspec.rig.values import Faults
from rigspec.rules import RULES
from rigspec.server.mentions import mentions
from rigspec.server.snapshot import Snapshot
from rigspec.text.finding import Edit, Finding, Fix
from rigspec.text.source import Refused, Source
from rigspec.text.value import Content, Value, gathered

MOST_PROJECT_FILES = 1000  # rigs of a project that are looked through for a name
MOST_PROJECT_FOLDERS = 2000  # somebody's whole home may be the folder of a rig
COLLECT_EVERY = 10  # checks


@frozen(eq=False, repr=False)
class Document(Value):
    """A text that is open: how the editor calls it, the real path of its file, and what it holds now."""

    uri: str
    place: str
    source: Source
    version: int


@frozen(eq=False, repr=False)
class Gathered(Content):
    """All that a check of a rig sees: its texts, its own first, and what is wrong with reading them."""

    texts: tuple[Source, ...]
    faults: tuple[Finding, ...]
    files: tuple[File, ...] = field(eq=False)


@frozen(eq=False, repr=False)
class CheckedText(Value):
    """The report of an open rig, and what it is about; ``version`` is the editor's number of the rig's own text."""

    version: int
    about: Gathered
    report: Report


class OpenTexts(Library):
    """Files as they are now: what is open comes first, what is on disk is read anew when it has changed."""

    def __init__(self) -> None:
        super().__init__()
        self.held: dict[str, Source] = {}  # what is open, by its real path
        self.trial: dict[str, Source] = {}  # what is tried in its place
        self._disk: dict[str, tuple[Stamp, Source]] = {}
        self._files: dict[str, File] = {}  # the last parse of each text

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
        """The parse of a text, made once for each content; what is merely tried is not kept."""
        file = self._files.get(source.path)
        if file is None or file.source.text != source.text:
            file = parse(source)
            if not self.trial:
                self._files[source.path] = file
        return file

    def hold(self, place: str, source: Source) -> None:
        """From now on the editor says what is in this file."""
        self.held[place] = source
        self._keep(place, source)

    def release(self, place: str) -> None:
        """From now on the disk says what is in this file."""
        self.held.pop(place, None)
        self._disk.pop(place, None)

    def root(self, path: str) -> str:
        """The project's folder as it is now: where projects begin may change while an editor is open."""
        self._roots.clear()
        return super().root(path)


def path_of(uri: str) -> str:
    """The path of a file's URI; for other URIs, such as that of a text without a file, the last part of the URI."""
    parts = urlsplit(uri)
    if parts.scheme == "file":
        path = unquote(parts.path)
        return path[1:] if path[2:3] == ":" and path[1:2].isalpha() else path
    return unquote(uri.rpartition("/")[2].rpartition(":")[2]) or "untitled"


class Workspace:
    """What is open, checked. A report holds as long as all texts that it is about are what they were."""

    def __init__(self) -> None:
        self.texts = OpenTexts()
        self.documents: dict[str, Document] = {}
        self._checked: dict[str, CheckedText] = {}
        self._refusals: dict[tuple[Finding, Fix], str] = {}  # of the texts as they are
        self.checks = 0
        self.others_changed = False  # has a text been checked again that is itself what it was?

    # ---- what the editor does

    def open(self, uri: str, text: str, version: int) -> None:
        path = path_of(uri)
        document = Document(uri, os.path.realpath(path), Source(shown_path(path), text), version)
        self._hold(document)

    def change(self, uri: str, text: str, version: int) -> None:
        document = self.documents[uri]
        self._hold(evolve(document, source=Source(document.source.path, text), version=version))

    def _hold(self, document: Document) -> None:
        self.documents[document.uri] = document
        self.texts.hold(document.place, document.source)

    def close(self, uri: str) -> None:
        document = self.documents.pop(uri, None)
        if document is not None:
            self.texts.release(document.place)
            self._checked.pop(uri, None)

    # ---- reports

    def revalidate(self) -> None:
        """Bring all reports up to date."""
        for uri in sorted(self.documents):
            self.report(uri)

    def report(self, uri: str) -> Report:
        """The report of an open text as it and what it uses are now."""
        document, kept = self.documents[uri], self._checked.get(uri)
        now = self._gather(document.source)
        if kept is None or kept.about != now:
            self.others_changed |= kept is not None and kept.version == document.version
            self._refusals.clear()
            kept = self._checked[uri] = CheckedText(document.version, now, self._check(document.source))
        return kept.report

    def _rig(self, uri: str) -> Rig:
        """An open text bound to a rig: what is known of it without a check."""
        source, kept = self.documents[uri].source, self._checked.get(uri)
        if kept is not None and kept.about == self._gather(source):
            return kept.report.figures.rig
        return resolve(source, self.texts.reader(source), list(RULES), self.texts.parse)

    def _check(self, source: Source) -> Report:
        self.checks += 1
        return check(source, self.texts.reader(source), self.texts.parse)

    def _gather(self, source: Source) -> Gathered:
        faults = Faults()
        found = gather(source, self.texts.reader(source), faults, self.texts.parse)
        return Gathered(tuple(file.source for file in found.files), tuple(faults.found), found.files)

    def findings(self) -> dict[str, tuple[Finding, ...]]:
        """All findings of what is open, by the URI of the file that they stand in: what `check` of all these says."""
        self.revalidate()
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

    def sight(self, uri: str) -> Snapshot | None:
        """What questions about an open text are asked about; it is checked when a question needs that."""
        document = self.documents.get(uri)
        if document is None:
            return None
        files = self._files_of(document.source)
        return Snapshot(files[document.source.path], files, lambda: self.report(uri), lambda: self._rig(uri))

    def _files_of(self, source: Source) -> dict[str, File]:
        return {file.source.path: file for file in self._gather(source).files}

    # ---- other files

    def family(self, sight: Snapshot, what: str, name: str) -> dict[str, File]:
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

    def _rigs(self, source: Source) -> Iterator[Source]:
        yield from (document.source for document in self.documents.values())
        yield from self._project(source).values()

    def _project(self, source: Source) -> dict[str, Source]:
        """The rig files of a text's project, by the path that a `use` in this text would write; of a large one a part.

        What no `use` may take in is left out, and what is hidden, also where a link leads there.
        """
        load, inside = self.texts.reader(source), os.path.join(self.texts.root(source.path), "")
        found: list[str] = []
        for number, (folder, folders, names) in enumerate(os.walk(inside)):
            folders[:] = sorted(name for name in folders if not name.startswith("."))
            found += [os.path.join(folder, name) for name in sorted(names) if name.endswith(SUFFIX)]
            if number >= MOST_PROJECT_FOLDERS or len(found) >= MOST_PROJECT_FILES:
                break
        places = dict.fromkeys(map(os.path.realpath, found[:MOST_PROJECT_FILES]))
        shown = [each for each in places if each.startswith(inside) and f"{os.sep}." not in each[len(inside) - 1 :]]
        own = os.path.realpath(os.path.dirname(source.path))
        paths = [os.path.relpath(each, own).replace(os.sep, "/") for each in shown]
        return {used: got for used in paths if not isinstance(got := load(source.path, used), Refused)}

    def usable(self, source: Source) -> list[str]:
        """The paths of the project's other rig files, as a `use` in this text would write them."""
        return sorted(used for used, got in self._project(source).items() if got.path != source.path)

    # ---- what would be

    def refusal(self, finding: Finding, fix: Fix) -> str:
        """Why a fix may not be offered: as on the command line, it has to cure its finding and bring no other.

        Editors ask at every step of the cursor, and to know takes a check: until something changes it is known.
        """
        self.revalidate()
        known = self._refusals.get((finding, fix))
        if known is None:
            known = self._refusals[finding, fix] = self._refusal(finding, fix)
        return known

    def _refusal(self, finding: Finding, fix: Fix) -> str:
        texts = texts_with(fix)
        if not texts:
            return "its edits contradict each other or change nothing"
        touched = {source.path for source in texts}
        users = [uri for uri, one in self._checked.items() if touched.intersection(one.report.files)]
        before: dict[str, Iterable[Finding]] = {}
        after: dict[str, Iterable[Finding]] = {}
        self.texts.trial = {self.texts.place(source.path): Source(source.path, new) for source, new in texts.items()}
        try:
            for uri in users:
                document = self.documents[uri]
                trial = self.texts.trial.get(document.place, document.source)
                before[uri] = self._checked[uri].report.findings
                after[uri] = self._check(trial).findings
        finally:
            self.texts.trial = {}
        return harm(finding, before, after)

    def edits_by_uri(self, edits: Iterable[Edit]) -> Mapping[str, list[Edit]]:
        """Edits by the URI of the file that they change."""
        return gathered(edits, lambda edit: self.uri(edit.span.path))
