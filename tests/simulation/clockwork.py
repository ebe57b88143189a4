"""Threads on one virtual clock, one running at a time: what a seed decides happens again, to the byte.

A thread of the code under test is a greenlet here. It runs until it would block (a lock, an event, a queue, a sleep),
and here and there, as the seed says, gives way where it would not. Time moves only when every thread waits for it.
"""

from __future__ import annotations

import contextlib
import math
import queue
import random
from collections import deque
from collections.abc import Callable
from typing import Any

from greenlet import getcurrent, greenlet

MAY_YIELD = 0.02  # of the calls that need not block give way all the same


class Killed(BaseException):
    """The process of this thread is gone; no ``except Exception`` holds it up."""


class StuckError(AssertionError):
    """Every thread waits for something that no other can bring about."""


class Process:
    """Threads that live and die together."""

    def __init__(self) -> None:
        self.dead = False


class Task:
    """One thread of one process."""

    def __init__(self, name: str, process: Process, scheduler: greenlet, carried: Callable[[], None]) -> None:
        self.name, self.process = name, process
        self.greenlet = greenlet(carried, scheduler)
        self.ready: Callable[[], bool] | None = None
        self.until_s: float | None = None

    @property
    def over(self) -> bool:
        return bool(self.greenlet.dead)


class Clockwork:
    """The scheduler. ``boot_s`` goes on while the computer sleeps, ``now_s`` does not; ``wall_s`` may be set.

    What calls ``run`` may belong to a process too (``outside``), as a screen does: where it would block, threads run.
    """

    def __init__(self, seed: int, wall_s: float) -> None:
        self.rng = random.Random(seed)
        self._random = self.rng.random
        self.now_s = 1000.0
        self.slept_s = 0.0
        self.wall_ahead_s = wall_s - self.now_s
        self.tasks: list[Task] = []
        self.current: Task | None = None
        self.outside: Process | None = None
        self._scheduler = getcurrent()

    @property
    def boot_s(self) -> float:
        return self.now_s + self.slept_s

    @property
    def wall_s(self) -> float:
        return self.now_s + self.slept_s + self.wall_ahead_s

    def begin(self, work: Callable[[], None], name: str, process: Process) -> Task:
        """A new thread, which first runs when its turn comes."""

        def carried() -> None:
            with contextlib.suppress(Killed):
                if not process.dead:
                    work()

        task = Task(name, process, self._scheduler, carried)
        self.tasks.append(task)
        return task

    def wait(self, ready: Callable[[], bool] | None, seconds: float | None) -> bool:
        """Called by the running thread: give way until ``ready`` or for so long; whether it is ready."""
        task = self.current
        if task is None and self.outside is not None:
            return self._wait_outside(ready, seconds)
        assert task is not None, "only a simulated thread may block"
        if task.process.dead:
            raise Killed
        task.ready = ready
        task.until_s = None if seconds is None else self.now_s + max(seconds, 0.0)
        self._scheduler.switch()
        if task.process.dead:
            raise Killed
        return ready() if ready is not None else False

    def _wait_outside(self, ready: Callable[[], bool] | None, seconds: float | None) -> bool:
        process, until_s = self.outside, math.inf if seconds is None else self.now_s + max(seconds, 0.0)
        assert process is not None

        def waited() -> bool:
            return process.dead or self.now_s >= until_s or (ready is not None and ready())

        self.run(waited, until_s)
        return ready() if ready is not None else False

    def may_yield(self) -> None:
        """A call that need not block: others go first now and then."""
        if self._random() < MAY_YIELD and self.current is not None:
            self.wait(lambda: True, None)

    def run(self, over: Callable[[], bool], no_later_s: float = math.inf) -> None:
        """Let one thread after another run until ``over`` or until then. Raises what a thread raises."""
        while not over() and self.now_s <= no_later_s:
            now_s, soonest_s, able = self.now_s, math.inf, []
            for task in self.tasks:
                until_s, ready = task.until_s, task.ready
                waited = until_s is not None and until_s <= now_s
                if waited or (until_s is None if ready is None else ready()) or task.process.dead:
                    able.append(task)
                elif until_s is not None and until_s < soonest_s:
                    soonest_s = until_s
            if not able:
                if min(soonest_s, no_later_s) == math.inf:
                    raise StuckError(", ".join(t.name for t in self.tasks))
                self.now_s = max(min(soonest_s, no_later_s), self.now_s)
                if soonest_s > no_later_s:
                    return
                continue
            task = able[0] if len(able) == 1 else self.rng.choice(able)
            task.ready = task.until_s = None
            self.current = task
            try:
                task.greenlet.switch()
            finally:
                self.current = None
            if task.greenlet.dead:
                self.tasks.remove(task)

    def process_of(self) -> Process:
        process = self.outside if self.current is None else self.current.process
        assert process is not None
        return process


class Threading:
    """What the code under test takes for the module ``threading``."""

    def __init__(self, clockwork: Clockwork) -> None:
        class Thread:
            def __init__(self, target: Callable[..., None], name: str = "", daemon: bool = False, args: Any = ()):
                self.name, self.daemon = name, daemon
                self._work = lambda: target(*args)
                self._task: Task | None = None

            def start(self) -> None:
                self._task = clockwork.begin(self._work, self.name, clockwork.process_of())

            def join(self, timeout: float | None = None) -> None:
                task = self._task
                if task is not None and not task.over:
                    clockwork.wait(lambda: task.over, timeout)

            def is_alive(self) -> bool:
                return self._task is not None and not self._task.over

        class Event:
            def __init__(self) -> None:
                self._set = False

            def is_set(self) -> bool:
                return self._set

            def set(self) -> None:
                self._set = True
                clockwork.may_yield()

            def clear(self) -> None:
                self._set = False

            def wait(self, timeout: float | None = None) -> bool:
                if not self._set:
                    clockwork.wait(lambda: self._set, timeout)
                return self._set

        class Lock:
            def __init__(self) -> None:
                self._held = False

            def acquire(self) -> bool:
                clockwork.may_yield()
                if self._held:
                    clockwork.wait(lambda: not self._held, None)
                self._held = True
                return True

            __enter__ = acquire  # locks are taken a hundred times a second

            def release(self, *_: object) -> None:
                self._held = False

            __exit__ = release

        class RLock(Lock):
            def __init__(self) -> None:
                super().__init__()
                self._owner: greenlet | None = None
                self._depth = 0

            def acquire(self) -> bool:
                if self._owner is not getcurrent():
                    super().acquire()
                    self._owner = getcurrent()
                self._depth += 1
                return True

            __enter__ = acquire

            def release(self, *_: object) -> None:
                self._depth -= 1
                if not self._depth:
                    self._owner = None
                    super().release()

            __exit__ = release

        class Condition(Lock):
            def __init__(self) -> None:
                super().__init__()
                self._bells: deque[list[bool]] = deque()

            def wait(self, timeout: float | None = None) -> bool:
                bell = [False]
                self._bells.append(bell)
                self.release()
                clockwork.wait(lambda: bell[0] and not self._held, timeout)
                if not bell[0]:
                    self._bells.remove(bell)
                self.acquire()
                return bell[0]

            def notify(self, n: int = 1) -> None:
                for _ in range(min(n, len(self._bells))):
                    self._bells.popleft()[0] = True

            def notify_all(self) -> None:
                self.notify(len(self._bells))

        self.Thread, self.Event, self.Lock, self.RLock, self.Condition = Thread, Event, Lock, RLock, Condition


class Queues:
    """What it takes for the module ``queue``."""

    Empty = queue.Empty

    def __init__(self, clockwork: Clockwork) -> None:
        class SimpleQueue:
            def __init__(self) -> None:
                self._items: deque[Any] = deque()

            def __class_getitem__(cls, _: Any) -> Any:
                return cls

            def put(self, item: Any) -> None:
                self._items.append(item)
                clockwork.may_yield()

            def get(self, block: bool = True, timeout: float | None = None) -> Any:  # noqa: ARG002 - as the original
                if not self._items:
                    clockwork.wait(lambda: bool(self._items), timeout)
                return self.get_nowait()

            def get_nowait(self) -> Any:
                if not self._items:
                    raise queue.Empty
                return self._items.popleft()

            def empty(self) -> bool:
                return not self._items

        self.SimpleQueue = SimpleQueue


def future_of(clockwork: Clockwork) -> type:
    """What it takes for ``concurrent.futures.Future``."""

    class Future:
        def __init__(self) -> None:
            self._done, self._result, self._fault = False, None, None

        def __class_getitem__(cls, _: Any) -> Any:
            return cls

        def done(self) -> bool:
            return self._done

        def set_result(self, result: Any) -> None:
            self._result, self._done = result, True

        def set_exception(self, fault: BaseException) -> None:
            self._fault, self._done = fault, True

        def exception(self) -> BaseException | None:
            if not self._done:
                clockwork.wait(lambda: self._done, None)
            return self._fault

        def result(self) -> Any:
            fault = self.exception()
            if fault is not None:
                raise fault
            return self._result

    return Future


class Times:
    """What it takes for the module ``time``."""

    CLOCK_BOOTTIME = 7

    def __init__(self, clockwork: Clockwork) -> None:
        self._clockwork = clockwork

    def monotonic(self) -> float:
        return self._clockwork.now_s

    def monotonic_ns(self) -> int:
        return round(self._clockwork.now_s * 1e9)

    def clock_gettime_ns(self, _: int) -> int:
        return round(self._clockwork.boot_s * 1e9)

    def time_ns(self) -> int:
        return round(self._clockwork.wall_s * 1e9)

    def time(self) -> float:
        return self._clockwork.wall_s

    def sleep(self, seconds: float) -> None:
        self._clockwork.wait(None, seconds)
