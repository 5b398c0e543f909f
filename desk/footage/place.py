"""Where a project may lie beside its footage."""

from pathlib import Path

from desk.errors import OutputError


def refuse_project_in_footage(folder: Path, footage: Path) -> None:
    """Refuse a project folder that lies in the footage, where nothing is written.

    The footage folder itself may be the project: its scenes then lie beside the film file.

    Args:
        folder: The project folder; it may be missing.
        footage: The folder of footage; it may be missing.

    Raises:
        OutputError: code `output.in_footage`, when it lies there, also by way of a link.
    """
    project = resolved(folder)
    if footage.is_dir() and resolved(footage) in project.parents:
        raise OutputError(
            f"“{folder}” lies in the footage, where nothing is written.",
            advice="Choose a project folder beside the footage or above it.",
            code="output.in_footage",
            path=folder,
        )


def resolved(path: Path) -> Path:
    """Return where a path really leads to; it may be missing.

    Raises:
        OutputError: when it is a link that leads round in a circle.
    """
    try:
        return path.resolve()
    except (OSError, RuntimeError) as error:
        # Python tells such a link in either way.
        raise OutputError(
            f"“{path}” is a link that leads round in a circle.",
            advice="Choose another folder.",
            path=path,
            detail=str(error),
        ) from error
