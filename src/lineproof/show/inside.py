"""The files a show names: each lies inside its folder, links included."""

from __future__ import annotations

from pathlib import Path, PurePosixPath


class Outside(ValueError):
    """A name that leads out of the show's folder."""


def path_inside(folder: Path, name: str) -> Path | None:
    """Give the whole path of the file that `name` means in `folder`, None where there is none.

    Links are followed to their end. Raises Outside where the name leads out of the folder.
    """
    root = folder.resolve()
    try:
        path = (root / PurePosixPath(name.replace("\\", "/"))).resolve()
        is_inside = path.is_relative_to(root)
        is_file = is_inside and path.is_file()
    except (OSError, RuntimeError, ValueError):
        # A name no file can have (too long, a null in it), or links that go round.
        return None
    if not is_inside:
        raise Outside(name)
    return path if is_file else None
