"""Puts a bench together for an open film."""

from PySide6.QtCore import QObject

from desk.store.project import OpenFilm
from desk.ui.bench import Bench
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


def lay_bench(
    opened: OpenFilm, *, theme: Theme, messages: Messages, parent: QObject, read_only: str = ""
) -> Bench:
    """Return a bench for a film that was opened.

    Args:
        opened: The film as it was opened.
        theme: Colours in use.
        messages: Says things to the person.
        parent: Owns all of it.
        read_only: Why the film can't be edited, as a sentence, or "".
    """
    jobs = JobRunner(parent)
    reason = read_only or (opened.notice if opened.read_only else "")
    session = Session(opened.film, opened.folder, read_only=reason, parent=parent)
    session.changed.connect(jobs.give_way)
    media = Media(session, jobs, parent)
    choice = Choice(parent)
    session.refused.connect(messages.refusal)
    proxies = Proxies(session, media, jobs, parent)
    # Cutting goes on without it: said in passing.
    proxies.failed.connect(messages.refusal)
    return Bench(
        session=session,
        saving=Saving(session, opened, jobs, parent),
        choice=choice,
        cut=Cut(session, choice, parent),
        media=media,
        statuses=Statuses(session, media, parent),
        thumbnails=Thumbnails(session, media, jobs, parent),
        listening=Listening(session, media, jobs, parent),
        proxies=proxies,
        jobs=jobs,
        theme=theme,
        messages=messages,
    )


def clear_bench(bench: Bench) -> None:
    """Stop everything that runs for a film, before the window lets it go. Saving comes before this."""
    bench.saving.stop()
    bench.media.stop()
    bench.jobs.shut_down()
