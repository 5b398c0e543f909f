"""Where a project may lie beside its footage."""

from pathlib import Path

from desk.errors import OutputError
from desk.files import resolved


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
