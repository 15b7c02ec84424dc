"""Made from spec/rules.json by `python -m spanwalk.records.made_rules`: do not edit. Twin: pwa/rules/open_point_rules.js."""

from __future__ import annotations

from spanwalk.rules.points import emergency, groups, kinds, readings, records, rooms
from spanwalk.rules.points.found import Rule

RULES = (
    Rule(
        "room-not-visited",
        ("surveyor", "manager", "owner"),
        "/s/{site}/room/{record}",
        rooms.room_not_visited,
    ),
    Rule(
        "no-access",
        ("surveyor", "manager", "owner"),
        "/s/{site}/room/{record}",
        rooms.no_access,
    ),
    Rule(
        "room-open",
        ("surveyor", "manager", "owner"),
        "/s/{site}/room/{record}",
        rooms.room_open,
    ),
    Rule(
        "room-empty",
        ("surveyor", "manager", "owner"),
        "/s/{site}/room/{record}",
        rooms.room_empty,
    ),
    Rule(
        "duplicate-room-number",
        ("surveyor", "manager", "owner"),
        "/s/{site}/record/{record}/identity",
        rooms.duplicate_room_number,
    ),
    Rule(
        "duplicate-kind-mark",
        ("surveyor", "manager", "owner"),
        "/s/{site}/record/{record}/identity",
        kinds.duplicate_kind_mark,
    ),
    Rule(
        "lamps-not-seen",
        ("surveyor", "manager", "owner"),
        "/s/{site}/record/{record}/lamps",
        kinds.lamps_not_seen,
    ),
    Rule(
        "no-ballast-space",
        ("surveyor", "manager", "owner"),
        "/s/{site}/record/{record}/ballast_space",
        kinds.no_ballast_space,
    ),
    Rule(
        "feeds-not-seen",
        ("surveyor", "manager", "owner"),
        "/s/{site}/record/{record}/wiring",
        kinds.feeds_not_seen,
    ),
    Rule(
        "no-count",
        ("surveyor", "manager", "owner"),
        "/s/{site}/record/{record}/count",
        groups.no_count,
    ),
    Rule(
        "doubtful-count",
        ("surveyor", "manager", "owner"),
        "/s/{site}/record/{record}/count",
        groups.doubtful_count,
    ),
    Rule(
        "no-volts",
        ("surveyor", "manager", "owner"),
        "/s/{site}/record/{record}/supply",
        groups.no_volts,
    ),
    Rule(
        "emergency-not-seen",
        ("surveyor", "manager", "owner"),
        "/s/{site}/record/{record}/duty",
        groups.emergency_not_seen,
    ),
    Rule(
        "emergency-positions-not-said",
        ("surveyor", "manager", "owner"),
        "/s/{site}/record/{record}/duty",
        emergency.positions_not_said,
    ),
    Rule(
        "battery-not-seen",
        ("surveyor", "manager", "owner"),
        "/s/{site}/record/{record}/duty",
        emergency.battery_not_seen,
    ),
    Rule(
        "second-source-not-named",
        ("surveyor", "manager", "owner"),
        "/s/{site}/record/{record}/duty",
        emergency.second_source_not_named,
    ),
    Rule(
        "groups-do-not-differ",
        ("surveyor", "manager", "owner"),
        "/s/{site}/record/{record}/identity",
        groups.groups_do_not_differ,
    ),
    Rule(
        "position-above-count",
        ("surveyor", "manager", "owner"),
        "/s/{site}/record/{record}/count",
        groups.position_above_count,
    ),
    Rule(
        "dark-lamps-above-lamps",
        ("surveyor", "manager", "owner"),
        "/s/{site}/record/{record}/count",
        groups.dark_lamps_above_lamps,
    ),
    Rule(
        "longer-than-room",
        ("surveyor", "manager", "owner"),
        "/s/{site}/group/{record}",
        groups.longer_than_room,
    ),
    Rule(
        "no-reading",
        ("surveyor", "manager", "owner"),
        "/s/{site}/group/{record}/read",
        readings.no_reading,
    ),
    Rule(
        "too-few-readings",
        ("surveyor", "manager", "owner"),
        "/s/{site}/group/{record}/read",
        readings.too_few_readings,
    ),
    Rule(
        "two-clusters",
        ("surveyor", "manager", "owner"),
        "/s/{site}/group/{record}",
        readings.two_clusters,
    ),
    Rule(
        "tight-not-settled",
        ("surveyor", "manager", "owner"),
        "/s/{site}/group/{record}/read",
        readings.tight_not_settled,
    ),
    Rule(
        "fits-by-lamp",
        ("surveyor", "manager", "owner"),
        "/s/{site}/group/{record}/read",
        readings.fits_by_lamp,
    ),
    Rule(
        "reading-matches-another",
        ("surveyor", "manager", "owner"),
        "/s/{site}/group/{parent}",
        readings.reading_matches_another,
    ),
    Rule(
        "outlier",
        ("surveyor", "manager", "owner"),
        "/s/{site}/group/{parent}",
        readings.outlier,
    ),
    Rule(
        "reading-beyond-rows",
        ("surveyor", "manager", "owner"),
        "/s/{site}/group/{parent}",
        readings.beyond_rows,
    ),
    Rule(
        "pair-set-aside",
        ("surveyor", "manager", "owner"),
        "/s/{site}/group/{parent}",
        readings.set_aside,
    ),
    Rule(
        "verdict-differs",
        ("surveyor", "manager", "owner"),
        "/s/{site}/group/{parent}",
        readings.verdict_differs,
    ),
    Rule(
        "conflict",
        ("surveyor", "manager", "owner"),
        "/s/{site}/conflicts",
        records.conflict,
    ),
    Rule(
        "removed-with-children",
        ("surveyor", "manager", "owner"),
        "/s/{site}/conflicts",
        records.removed_with_children,
    ),
    Rule(
        "code-on-two-fixtures",
        ("surveyor", "manager", "owner"),
        "/s/{site}/conflicts",
        records.code_on_two_fixtures,
    ),
    Rule(
        "two-codes-on-a-fixture",
        ("surveyor", "manager", "owner"),
        "/s/{site}/record/{record}/voided",
        records.two_codes_on_a_fixture,
    ),
    Rule(
        "photo-not-arrived",
        ("surveyor", "crew"),
        "/s/{site}/unsent",
        records.photo_not_arrived,
    ),
    Rule(
        "unsent-work",
        ("surveyor", "crew"),
        "/s/{site}/unsent",
        records.unsent_work,
    ),
    Rule(
        "figure-not-used",
        ("manager", "owner"),
        "/s/{site}/desk/figures",
        records.figure_not_used,
    ),
    Rule(
        "question-open",
        ("surveyor", "crew", "manager", "owner"),
        "/s/{site}/record/{record}/answer",
        records.question_open,
    ),
)
