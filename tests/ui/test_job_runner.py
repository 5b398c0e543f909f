"""Jobs: exactly one end, told in the window's thread; and what is cancelled can be used again."""

import threading

import pytest

from desk.errors import MediaError
from desk.jobs import Progress
from desk.ui.job_runner import JobRunner, Lane


@pytest.fixture
def jobs(qapp):
    made = JobRunner()
    yield made
    made.shut_down()
    made.deleteLater()


class Ends:
    """Records how a job ends, and in which thread that is told."""

    def __init__(self, job):
        self.told, self.threads = [], set()
        job.succeeded.connect(lambda result: self.note("succeeded", result))
        job.failed.connect(lambda error: self.note("failed", error))
        job.cancelled.connect(lambda: self.note("cancelled", None))
        job.finished.connect(lambda: self.note("finished", None))

    def note(self, name, value):
        self.told.append((name, value))
        self.threads.add(threading.current_thread())

    @property
    def names(self):
        return [name for name, _ in self.told]


def ended(jobs, qtbot, work, *, cancel=False, lane=Lane.LOOKING):
    job = jobs.start("trial", work, lane=lane)
    ends = Ends(job)
    with qtbot.waitSignal(job.finished):
        if cancel:
            job.cancel()
    return ends


def test_a_result_arrives_in_the_windows_thread(jobs, qtbot):
    where = []

    def work(progress, cancel):
        where.append(threading.current_thread())
        return 7

    ends = ended(jobs, qtbot, work)
    assert ends.told == [("succeeded", 7), ("finished", None)]
    assert ends.threads == {threading.main_thread()}
    assert where[0] is not threading.main_thread()


def test_a_fault_of_the_world_is_told_as_it_is(jobs, qtbot):
    fault = MediaError("“a.mov” is gone.", advice="Find it.")

    def work(progress, cancel):
        raise fault

    assert ended(jobs, qtbot, work).told == [("failed", fault), ("finished", None)]


def test_a_fault_of_our_own_is_told_and_logged(jobs, qtbot, caplog):
    def work(progress, cancel):
        raise ZeroDivisionError("ours")

    assert ended(jobs, qtbot, work).names == ["failed", "finished"]
    assert "trial" in caplog.text


def test_what_is_cancelled_says_so_once_and_the_runner_goes_on(jobs, qtbot):
    def work(progress, cancel):
        assert cancel.wait(30)
        cancel.check()

    assert ended(jobs, qtbot, work, cancel=True).names == ["cancelled", "finished"]
    assert ended(jobs, qtbot, lambda progress, cancel: 1).names == ["succeeded", "finished"]


def test_a_job_that_is_cancelled_before_its_turn_never_runs(jobs, qtbot):
    release = threading.Event()
    first = jobs.start("first", lambda progress, cancel: release.wait(30), lane=Lane.SAVING)
    ran = []
    second = jobs.start("second", lambda progress, cancel: ran.append(1), lane=Lane.SAVING)
    ends = Ends(second)
    second.cancel()
    with qtbot.waitSignals([first.finished, second.finished]):
        release.set()
    assert ends.names == ["cancelled", "finished"]
    assert not ran


def test_progress_comes_at_most_ten_times_a_second_and_the_end_always(jobs, qtbot):
    def work(progress, cancel):
        for step in range(1001):
            progress(Progress("trial", "Trying", step / 1000))

    job = jobs.start("trial", work)
    seen = []
    job.progressed.connect(seen.append)
    with qtbot.waitSignal(job.finished):
        pass
    assert seen[-1].fraction == 1
    assert len(seen) < 100


def test_jobs_of_one_lane_that_saves_follow_each_other(jobs, qtbot):
    order = []
    started = [
        jobs.start("save", lambda progress, cancel, number=number: order.append(number), lane=Lane.SAVING)
        for number in range(20)
    ]
    with qtbot.waitSignals([job.finished for job in started]):
        pass
    assert order == list(range(20))


def test_each_job_that_is_started_is_told(jobs, qtbot):
    seen = []
    jobs.started.connect(seen.append)
    job = jobs.start("trial", lambda progress, cancel: 1, lane=Lane.BACKGROUND)
    assert seen == [job]
    assert job.lane is Lane.BACKGROUND
    with qtbot.waitSignal(job.finished):
        pass


def test_after_the_end_nothing_is_started(qapp):
    jobs = JobRunner()
    jobs.shut_down()
    with pytest.raises(RuntimeError, match="after the end"):
        jobs.start("late", lambda progress, cancel: None)
    jobs.deleteLater()


def test_what_was_asked_to_be_saved_is_saved_at_the_end(qapp):
    jobs = JobRunner()
    done = []
    for number in range(5):
        jobs.start("save", lambda progress, cancel, number=number: done.append(number), lane=Lane.SAVING)
    jobs.shut_down()
    assert done == list(range(5))
    jobs.deleteLater()


@pytest.mark.parametrize("lane", [Lane.PICTURES, Lane.BACKGROUND])
def test_what_nobody_waits_for_stands_still_after_an_edit_and_then_goes_on(jobs, qtbot, lane):
    started, asked, went_on = threading.Event(), threading.Event(), threading.Event()

    def work(progress, cancel):
        started.set()
        asked.wait(5)
        cancel.check()
        went_on.set()

    job = jobs.start("trial", work, lane=lane)
    assert started.wait(5)
    jobs.give_way()
    asked.set()
    # No event is handled meanwhile, so the way can't become free by itself.
    assert not went_on.wait(0.1)
    with qtbot.waitSignal(job.succeeded):
        pass
    assert went_on.is_set()


def test_what_is_waited_for_goes_on_during_edits(jobs, qtbot):
    jobs.give_way()
    went_on = threading.Event()
    job = jobs.start("trial", lambda progress, cancel: (cancel.check(), went_on.set()))
    ends = Ends(job)
    assert went_on.wait(5)
    with qtbot.waitSignal(job.finished):
        pass
    assert ends.names == ["succeeded", "finished"]


def test_what_stands_still_is_stopped_at_the_end(jobs, qtbot):
    started = threading.Event()

    def work(progress, cancel):
        started.set()
        while True:
            cancel.check()

    ends = Ends(jobs.start("trial", work, lane=Lane.PICTURES))
    assert started.wait(5)
    jobs.give_way()
    jobs.shut_down()
    assert ends.names == []
