"""Where the style sheets and scripts are: in the installed package, or beside it in a checkout."""

from __future__ import annotations

from pathlib import Path

PACKAGE = Path(__file__).resolve().parent


def static_folder(package: Path = PACKAGE) -> Path:
    """The folder with the static files that belong to this copy of the package.

    A wheel carries them as ``holdtrue/static``. In a checkout (an editable install) they lie at the
    top, in the folder that also has ``pyproject.toml``; asking for both keeps some other ``static``
    further up from being served by mistake.
    """
    inside = package / "static"
    if inside.is_dir():
        return inside
    looked_at = [inside]
    for folder in package.parents:
        beside = folder / "static"
        looked_at.append(beside)
        if beside.is_dir() and (folder / "pyproject.toml").is_file():
            return beside
    places = ", ".join(str(place) for place in looked_at)
    raise FileNotFoundError(
        f"No folder with the static files of holdtrue; looked for {places}. Install it again."
    )
