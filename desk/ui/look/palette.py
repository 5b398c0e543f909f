"""The colours of the window, dark and light.

Neutral surround, since a coloured one misleads the eye when grading: no grey differs by more than 3 % between
its channels. One accent, the wax pencil, for what the maker has marked, chosen or left open. A test holds
text at 4.5:1 and marks at 3:1 (WCAG 2.x, 1.4.3 and 1.4.11).
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Palette:
    """Colours as `#rrggbb`.

    Attributes:
        name: `dark` or `light`.
        bench: The surround.
        panel: What lies on the bench: sheets and bars.
        row: A row of the ledger, a part of a sheet.
        row_chosen: The chosen row, and a row under the pointer.
        field: Where text is typed.
        line: Lines and frames.
        outline: The edge of a control; 3:1 against what it lies on.
        ink: Text.
        dim: Text that matters less.
        pencil: Selection, playhead, joins, open parts, tension.
        on_pencil: Text on the wax pencil.
        pencil_text: Words written with the wax pencil.
        locked: The mark of a locked scene.
        draft: The mark of a draft.
        broken: The mark of a broken lock, and what went wrong.
        broken_text: Words about what went wrong.
        unlit: Tension steps that are not reached.
    """

    name: str
    bench: str
    panel: str
    row: str
    row_chosen: str
    field: str
    line: str
    outline: str
    ink: str
    dim: str
    pencil: str
    on_pencil: str
    pencil_text: str
    locked: str
    draft: str
    broken: str
    broken_text: str
    unlit: str


DARK = Palette(
    name="dark",
    bench="#2a2a29",
    panel="#343433",
    row="#3b3b39",
    row_chosen="#464644",
    field="#2e2e2d",
    line="#4c4c4a",
    outline="#979590",
    ink="#e9e7e2",
    dim="#bcbab5",
    pencil="#e6b93f",
    on_pencil="#262520",
    pencil_text="#e6b93f",
    locked="#8fb3a6",
    draft="#aeaca7",
    broken="#dd8069",
    broken_text="#f0a391",
    unlit="#5a5a57",
)

LIGHT = Palette(
    name="light",
    bench="#d3d2cf",
    panel="#e2e1de",
    row="#eeedea",
    row_chosen="#fbfaf7",
    field="#f8f7f5",
    line="#bdbcb8",
    outline="#73716c",
    ink="#262520",
    dim="#53514c",
    pencil="#906808",
    on_pencil="#fffdf8",
    pencil_text="#6d4f05",
    locked="#3f6b5c",
    draft="#5d5b56",
    broken="#b2452c",
    broken_text="#94331c",
    unlit="#b5b4b0",
)
