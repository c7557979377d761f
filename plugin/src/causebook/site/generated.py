"""Generated pages: real files outside `docs/`, given to MkDocs as if they stood in it.

MkDocs takes files in memory as always changed; a file on disk that is only written when its bytes differ lets
`--dirty` and `serve` leave alone what did not change.
"""

from __future__ import annotations

import os
from pathlib import Path

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files, InclusionLevel

from causebook.library.disk import write_if_different


def add_text(
    files: Files, config: MkDocsConfig, folder: Path, source: str, content: str, *, listed: bool = False
) -> Path:
    """Write one generated page or script below `folder` and add it to the site; the path written.

    `listed` pages may stand in the navigation; the others are left out of it without a word.
    """
    path = folder / source
    write_if_different(path, content)
    add_file(files, config, path, source, listed=listed)
    return path


def add_file(
    files: Files, config: MkDocsConfig, path: Path, source: str, *, listed: bool = False, edit: Path | None = None
) -> File:
    """Add a file that stands at `path` to the site under the source path `source`.

    `edit` is the file that "edit this page" opens.
    """
    inclusion = InclusionLevel.UNDEFINED if listed else InclusionLevel.NOT_IN_NAV
    file = File.generated(config, source, abs_src_path=str(path), inclusion=inclusion)
    if edit:
        file.edit_uri = Path(os.path.relpath(edit, config.docs_dir)).as_posix()
    files.append(file)
    return file
