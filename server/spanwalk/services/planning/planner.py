"""Large sites are planned in the background of a server, one at a time: nobody waits for them, and nobody begins again.

A site is planned when somebody asks for plans that are not made, and by itself once many of its groups are not planned: brought in
by whatever way, or planned by an earlier version. Where another server is at it, this one waits, and takes over what it made.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

from flask import Flask
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from spanwalk.services.background.standing_back import standing_back
from spanwalk.services.planning.completeness import judged_site
from spanwalk.services.planning.kept_answers import kept_head
from spanwalk.services.planning.plans import AT_ONCE_MOST, FAILED_AGAIN_S, PLANNER, site_plan
from spanwalk.services.planning.under_way import claimed, groups_of
from spanwalk.storage.database import reading
from spanwalk.storage.tables import Record, Site

LOOK_EACH_S = 60.0
LOOKS_MOST = 10
"""A site that changes all the time is planned after so many looks; another once it did not change between two."""
ELSEWHERE_S = 2.0
NEVER = -1


class BackgroundPlanner:
    """Plans sites on one thread, which begins with the first of them.

    Parameters
    ----------
    app : Flask
        In whose context it plans.
    """

    def __init__(self, app: Flask) -> None:
        self._app = app
        self._changed = threading.Condition()
        self._due: dict[str, float] = {}
        self._failed: dict[str, float] = {}
        self._at_work: str | None = None
        self._thread: threading.Thread | None = None

    def soon(self, site_id: str, in_s: float = 0.0) -> None:
        """Have a site planned in so many seconds, once it is its turn; at once where it was to be so later."""
        at = time.monotonic() + in_s
        with self._changed:
            self._due[site_id] = min(at, self._due.get(site_id, at))
            if self._thread is None:
                self._thread = threading.Thread(target=self._run, name="planner", daemon=True)
                self._thread.start()
            self._changed.notify_all()

    def is_at_work(self, site_id: str) -> bool:
        """Whether it plans this site just now."""
        return self._at_work == site_id

    def has_failed(self, site_id: str) -> bool:
        """Whether planning this site failed a moment ago."""
        return time.monotonic() < self._failed.get(site_id, 0.0)

    def idle(self, within_s: float) -> bool:
        """Wait until nothing is due or worked on; False: it took longer."""
        with self._changed:
            return self._changed.wait_for(lambda: not self._due and self._at_work is None, within_s)

    def _run(self) -> None:
        while True:
            site_id = self._next()
            try:
                with self._app.app_context(), standing_back():
                    self._plan(site_id)
                self._failed.pop(site_id, None)
            except Exception:
                self._app.logger.exception("site %s was not planned", site_id)
                self._failed[site_id] = time.monotonic() + FAILED_AGAIN_S
            with self._changed:
                self._at_work = None
                self._changed.notify_all()

    def _next(self) -> str:
        """The site that is due first, once it is."""
        with self._changed:
            while True:
                now = time.monotonic()
                at, site_id = min(((at, id) for id, at in self._due.items()), default=(None, ""))
                if at is not None and at <= now:
                    del self._due[site_id]
                    self._at_work = site_id
                    return site_id
                self._changed.wait(None if at is None else at - now)

    def _plan(self, site_id: str) -> None:
        with claimed(site_id) as is_free:
            if is_free:
                with reading() as session:
                    if session.get(Site, site_id) is not None:
                        # The plans first; of these, what is open.
                        site_plan(session, site_id)
                        judged_site(session, site_id)
                return
        # Another server is at it: what that one makes is taken over then.
        self.soon(site_id, ELSEWHERE_S)


class Watch:
    """Sites of which many groups are not planned, seen by looking at their heads now and then.

    Parameters
    ----------
    plan : callable
        Has a site planned.
    """

    def __init__(self, plan: Callable[[str], None]) -> None:
        self._plan = plan
        self._seen: dict[str, tuple[int, int]] = {}
        self._settled: dict[str, int] = {}
        self._is_first = True

    def look(self) -> None:
        """Look once; a site is planned when it has many groups that are not, and stands still or has not for long."""
        with reading() as session:
            heads = {row.id: row.head for row in session.execute(select(Site.id, Site.head))}
            for site_id, head in heads.items():
                if self._settled.get(site_id) != head and self._is_time(site_id, head):
                    self._settled[site_id] = head
                    if are_many_unplanned(session, site_id):
                        self._plan(site_id)
        self._is_first = False

    def _is_time(self, site_id: str, head: int) -> bool:
        # When a server begins, what is there has stood still; a site that came since may still be coming in.
        before, looks = self._seen.get(site_id, (head if self._is_first else NEVER, 0))
        is_time = before == head or looks >= LOOKS_MOST
        self._seen[site_id] = (head, 0 if is_time else looks + 1)
        return is_time


def are_many_unplanned(session: Session, site_id: str) -> bool:
    """Whether so many groups of a site are not planned by these rules, or changed since, that nobody ought to wait for them."""
    if groups_of(session, site_id) <= AT_ONCE_MOST:
        return False
    head = kept_head(session, site_id, "plans")
    if head is None:
        return True
    since = (Record.site == site_id, Record.type == "group", Record.seq > head)
    return session.execute(select(func.count()).select_from(Record).where(*since)).scalar_one() > AT_ONCE_MOST


def begin_planning(app: Flask) -> None:
    """Plan large sites in the background of this server, and look for them by itself."""
    planner = BackgroundPlanner(app)
    app.extensions[PLANNER] = planner
    watch = Watch(planner.soon)

    def run() -> None:
        while True:
            try:
                with app.app_context():
                    watch.look()
            except Exception:
                app.logger.exception("it was not looked for sites to be planned")
            time.sleep(LOOK_EACH_S)

    threading.Thread(target=run, name="watch-for-plans", daemon=True).start()


__all__ = ["BackgroundPlanner", "Watch", "are_many_unplanned", "begin_planning"]
