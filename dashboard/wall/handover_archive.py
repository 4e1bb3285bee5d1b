"""The documents of a chosen wall as one archive, for the link beside the wall."""

from __future__ import annotations

import io
import zipfile

from optimiser.handover.documents import documents
from optimiser.search.study import Study

EPOCH = (1980, 1, 1, 0, 0, 0)  # equal bytes for equal documents
MISSING = "not-made.txt"


def archive(study: Study, wall_id: str) -> bytes:
    """A ZIP of every document of a wall of the front; what could not be made is told in a text beside them."""
    stream, trouble = io.BytesIO(), []
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as packed:
        for made in documents(study, wall_id):
            for name, content in made.files.items():
                packed.writestr(_entry(f"{wall_id}/{name}"), content)
            trouble += [f"{made.document}: {made.trouble}"] if made.trouble else []
        if trouble:
            packed.writestr(_entry(f"{wall_id}/{MISSING}"), "\n".join(trouble) + "\n")
    return stream.getvalue()


def _entry(name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, EPOCH)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o644 << 16
    return entry
