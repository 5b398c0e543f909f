"""What all parts of the window share."""

from dataclasses import dataclass

from desk.ui.choice import Choice
from desk.ui.cutting.cut import Cut
from desk.ui.job_runner import JobRunner
from desk.ui.listening import Listening
from desk.ui.look.theme import Theme
from desk.ui.media import Media
from desk.ui.messages import Messages
from desk.ui.proxies import Proxies
from desk.ui.saving import Saving
from desk.ui.session import Session
from desk.ui.status import Statuses
from desk.ui.thumbnails import Thumbnails


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """One open film with all that shows it.

    Attributes:
        session: The film and its edits.
        saving: Keeps the film file as the film is.
        choice: What the person looks at.
        cut: What the person has hold of in the scene that is being cut.
        media: What is known of its files.
        statuses: How each scene stands.
        thumbnails: Small pictures of footage.
        listening: Where somebody speaks in its clips.
        proxies: Small copies of heavy footage, for looking at it.
        jobs: Long work beside the window.
        theme: Colours in use.
        messages: Says things to the person.
    """

    session: Session
    saving: Saving
    choice: Choice
    cut: Cut
    media: Media
    statuses: Statuses
    thumbnails: Thumbnails
    listening: Listening
    proxies: Proxies
    jobs: JobRunner
    theme: Theme
    messages: Messages
