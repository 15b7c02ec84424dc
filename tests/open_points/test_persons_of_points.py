"""Who has an open point is found anew after any change, also one that leaves all points as they are."""

from __future__ import annotations

from pathlib import Path

from tests.support.installation import installed, new_id

from spanwalk.rules.points.found import OpenPoint
from spanwalk.services.planning.persons_of_points import persons_of_all
from spanwalk.storage.database import reading


def test_an_assignment_changes_who_has_a_point_that_stays_the_same(tmp_path: Path) -> None:
    with installed(tmp_path / "data") as here:
        room, day = new_id(), {"day": "2027-01-04", "who": "Invented", "noted_at": "2027-01-03T08:00:00Z"}
        to = {"parent": here.floor(), "number": "1"}
        here.push("surveyor", here.operation("surveyor", room, "room", "identity", to, spec=99))
        point: OpenPoint = {
            "rule": "room-not-visited",
            "record": room,
            "room": room,
            "floor": to["parent"],
            "who": ["surveyor", "manager"],
            "path": "",
            "facts": {},
        }
        points = [point]

        def has() -> list[str]:
            with here.app.app_context(), reading() as session:
                return persons_of_all(session, here.site, points)

        assert has() == [here.people["surveyor"]]
        assigned = {**day, "parent": room, "deed": "assigned", "person": here.people["manager"]}
        here.push("manager", here.operation("manager", new_id(), "assignment", "identity", assigned, spec=99))
        assert has() == [here.people["manager"]]
