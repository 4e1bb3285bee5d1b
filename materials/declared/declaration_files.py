"""Files of declarations as parsed documents: XML, JSON, or a ZIP archive of them. Hostile until parsed, so with limits.

Nothing is unpacked to the disk, no DTD, entity or address is followed.
"""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any
from xml.etree import ElementTree

from ..errors import InputError
from ..untrusted import check_size, read_within, reason, shown

SUFFIXES = (".xml", ".json", ".zip")
MAX_BYTES = 20_000_000  # of a file
MAX_DOCUMENT_BYTES = 8_000_000  # of one data set; usual ones have a few hundred thousand
MAX_UNPACKED_BYTES = 60_000_000  # of all data sets of an archive that are read
MAX_ENTRIES = 3_000
MAX_DEPTH = 60
MAX_ELEMENTS = 300_000
# Folders of an archive that hold neither processes nor flows.
PASSED_OVER = ("contacts", "sources", "external_docs", "unitgroups", "flowproperties", "lciamethods", "lifecyclemodels")


@dataclass(frozen=True)
class DeclarationFile:
    """A parsed data set: an XML element or a JSON object, and where it stands."""

    place: str
    root: Any

    @property
    def is_xml(self) -> bool:
        return isinstance(self.root, ElementTree.Element)


def read_file(path: Path) -> bytes:
    """The file's bytes; InputError when it is missing, unreadable, above the size limit or of another kind."""
    if path.suffix.lower() not in SUFFIXES:
        raise InputError(f"{path}: expected a declaration ending in .xml, .json or .zip")
    return read_within(path, MAX_BYTES, "a declaration (.xml, .json or .zip)")


def documents(path: Path, data: bytes) -> list[DeclarationFile]:
    """Every data set of a file; one unless it is an archive."""
    suffix = path.suffix.lower()
    if suffix == ".zip":
        return [_parse(f"{path}, {shown(name)}", name, text) for name, text in _entries(path, data)]
    return [_parse(str(path), path.name, data)]


def _parse(place: str, name: str, data: bytes) -> DeclarationFile:
    check_size(place, len(data), MAX_DOCUMENT_BYTES, "a data set of ")
    return DeclarationFile(place, _json(place, data) if name.lower().endswith(".json") else _xml(place, data))


class _Builder(ElementTree.TreeBuilder):
    """Builds the tree while it counts, so that a file made to exhaust the memory is stopped on the way."""

    def __init__(self, place: str) -> None:
        super().__init__()
        self.place, self.depth, self.count = place, 0, 0

    def start(self, tag: str, attributes: dict[str, str]) -> ElementTree.Element:
        self.depth += 1
        self.count += 1
        if self.depth > MAX_DEPTH:
            raise InputError(f"{self.place}: element {self.count}, {shown(tag)}: nested deeper than {MAX_DEPTH} levels")
        if self.count > MAX_ELEMENTS:
            raise InputError(f"{self.place}: expected at most {MAX_ELEMENTS} elements")
        return super().start(tag, attributes)

    def end(self, tag: str) -> ElementTree.Element:
        self.depth -= 1
        return super().end(tag)


def _xml(place: str, data: bytes) -> ElementTree.Element:
    from defusedxml import DefusedXmlException
    from defusedxml.ElementTree import DefusedXMLParser, ParseError  # a ParseError of its own

    parser = DefusedXMLParser(target=_Builder(place), forbid_dtd=True, forbid_entities=True, forbid_external=True)
    try:
        parser.feed(data)
        return parser.close()
    except InputError:
        raise
    except DefusedXmlException as error:
        line = getattr(parser.parser, "CurrentLineNumber", None)
        at = f"line {line}: " if line else ""
        raise InputError(
            f"{place}: {at}holds a document type or entity ({type(error).__name__}); expected plain XML"
        ) from None
    except (ParseError, ValueError, LookupError, RecursionError) as error:  # LookupError: an encoding nobody knows
        raise InputError(f"{place}: not XML that can be read ({reason(error)})") from None


def _json(place: str, data: bytes) -> dict[str, Any]:
    def refuse(word: str) -> float:
        raise InputError(f"{place}: holds {word}; expected numbers")

    try:
        root = json.loads(data.decode("utf-8-sig"), parse_constant=refuse)
    except InputError:
        raise
    except UnicodeDecodeError as error:
        raise InputError(f"{place}: byte {error.start + 1}: not UTF-8 text") from None
    except json.JSONDecodeError as error:
        raise InputError(f"{place}: line {error.lineno}, column {error.colno}: not JSON ({error.msg})") from None
    except RecursionError:
        raise InputError(f"{place}: nested too deeply to be a declaration") from None
    except ValueError:  # an integer of thousands of digits
        raise InputError(f"{place}: holds a number too long to be read") from None
    if not isinstance(root, dict):
        raise InputError(f"{place}: expected an object with processInformation")
    return root


def _entries(path: Path, data: bytes) -> Iterator[tuple[str, bytes]]:
    """Names and bytes of an archive's data sets, those of other kinds passed over."""
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
        entries = archive.infolist()
    except Exception as error:  # a damaged archive fails in many ways, all of them "unreadable" to the user
        raise InputError(f"{path}: not a ZIP archive that can be read ({reason(error)})") from None
    if len(entries) > MAX_ENTRIES:
        raise InputError(f"{path}: {len(entries)} entries; expected at most {MAX_ENTRIES}")
    left = MAX_UNPACKED_BYTES
    for entry in entries:
        if entry.is_dir() or not _may_hold_one(entry.filename):
            continue
        text = _unpacked(path, archive, entry, min(left, MAX_DOCUMENT_BYTES))
        left -= len(text)
        yield entry.filename, text


def _may_hold_one(name: str) -> bool:
    parts = PurePosixPath(name.lower().replace("\\", "/"))
    return parts.suffix in (".xml", ".json") and parts.parent.name not in PASSED_OVER


def _unpacked(path: Path, archive: zipfile.ZipFile, entry: zipfile.ZipInfo, limit: int) -> bytes:
    place = f"{path}, {shown(entry.filename)}"
    if entry.flag_bits & 0x1:
        raise InputError(f"{place}: locked with a password; expected an open archive")
    try:
        with archive.open(entry) as file:
            text = file.read(limit + 1)  # the size that the archive states may be a lie
    except Exception as error:
        raise InputError(f"{place}: cannot be unpacked ({reason(error)})") from None
    if len(text) > limit:
        raise InputError(
            f"{place}: unpacks to more than {limit / 1e6:.0f} MB; expected data sets of at most "
            f"{MAX_DOCUMENT_BYTES / 1e6:.0f} MB, {MAX_UNPACKED_BYTES / 1e6:.0f} MB together"
        )
    return text
