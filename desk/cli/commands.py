"""All commands, in the order in which a film meets them."""

from desk.cli import assembling, look, opening, order, recovery, scenes, start

ALL = (
    start.COMMAND,
    opening.COMMAND,
    look.SHOW,
    look.CHECK,
    scenes.NOTE,
    scenes.PROOF,
    scenes.LOCK,
    scenes.UNLOCK,
    order.MOVE,
    order.JOIN,
    order.SET_ASIDE,
    order.PUT_BACK,
    assembling.COMMAND,
    recovery.COMMAND,
)
