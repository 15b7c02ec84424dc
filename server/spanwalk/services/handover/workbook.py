"""The same data as a workbook: a sheet for each section, numbers as numbers, every text in full."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.services.background.making import Step, nobody
from spanwalk.services.files.sheets_out import OutTable, as_workbook
from spanwalk.services.handover.rows import (
    ENERGY,
    collected_heads,
    collected_rows,
    container_heads,
    energy_figure,
    now_fitted,
    spare_heads,
    state_text,
    warranty_heads,
    warranty_rows,
    waste_notes,
    waste_rows,
)
from spanwalk.services.handover.summary import cost_lines, sentences
from spanwalk.services.handover.told import DONE, GroupTold, Report, RoomTold
from spanwalk.services.text.neutral import Out
from spanwalk.words import say

Row = list[Out]
PLACE = ("floor", "room", "kind")


def report_workbook(report: Report, step: Step = nobody) -> bytes:
    """The report as a workbook; `step` is told after each sheet."""
    return as_workbook(list(_sheets(report)), step=step)


def _sheets(report: Report) -> Iterator[OutTable]:
    yield _summary(report)
    yield _table("open", [*_list("floor", "room"), _say("state"), _say("open.what")], _open_rows(report))
    yield _closed(report)
    yield _accepted(report)
    if report.accepted:
        yield _signed(report)
    yield _fixtures(report)
    if report.sums is not None:
        yield _energy(report)
    if report.money is not None:
        yield _money(report)
    yield _light(report)
    yield OutTable("tests", _say("tests"), report.tests.heads, [list(row) for row in report.tests.rows])
    yield _waste(report)
    yield _containers(report)
    if report.collected:
        rows: list[Row] = [list(row) for row in collected_rows(report)]
        yield OutTable("collected", say("proof.table.collected"), collected_heads(), rows)
    yield _photos(report)
    yield _releases(report)
    yield _table("warranties", warranty_heads(), _warranties(report), [_say("warranties.about")])
    if report.spares:
        yield _table("spares", spare_heads(), _spares(report), [_say("spares.about")])
    yield _table("cautions", [_say("cautions")], [[each] for each in report.cautions])
    yield _table("sources", [_say("sources")], [[each] for each in report.sources])


def _say(code: str) -> str:
    return say(f"handover-report.{code}")


def _list(*codes: str) -> list[str]:
    return [say(f"list.{code}") for code in codes]


def _table(section: str, heads: list[str], rows: list[Row], notes: list[str] | None = None) -> OutTable:
    return OutTable(section, _say(section), heads, rows, notes or [])


def _groups(report: Report) -> Iterator[tuple[RoomTold, GroupTold]]:
    for room in report.rooms:
        for group in room.groups:
            yield room, group


def _summary(report: Report) -> OutTable:
    counted = report.counted()
    rows: list[Row] = [[state_text(state), number] for state, number in counted.items()]
    rows.append([_say("open"), len(report.open)])
    rows.append([say("handover.left-out"), report.fixtures_left_out])
    rows.append([say("handover.tests"), report.tests.open])
    site = report.site
    about = [site.name, site.address, say("handover-report.for", {"customer": site.customer}) if site.customer else ""]
    about += [say("handover-report.by", {"firm": site.firm}) if site.firm else ""]
    about += [say("handover-report.made", {"day": report.made_on}), *sentences(report)]
    heads = [_say("sheet.figure"), _say("sheet.value")]
    return _table("summary", heads, rows, [each for each in about if each])


def _open_rows(report: Report) -> list[Row]:
    return [[each.floor_name, each.room_name, say(f"acceptance.sort.{each.what}"), each.text] for each in report.open]


def _closed(report: Report) -> OutTable:
    heads = [*_list("floor", "room"), *(_say(code) for code in ("open.what", "closed.how", "closed.words", "day"))]
    heads.append(_say("photos"))
    rows: list[Row] = [
        [each.floor_name, each.room_name, each.text, each.how, each.words, each.day, len(each.photos)]
        for each in report.closed
    ]
    return _table("closed", heads, rows)


def _accepted(report: Report) -> OutTable:
    codes = ("covers", "name", "day", "how", "fixtures", "done", "open", "hash", "whole", "stands")
    heads = [*(_say(f"accepted.{code}") for code in codes), _say("accepted.change")]
    rows: list[Row] = []
    for each in report.accepted:
        told: Row = [each.covers, each.name, each.day, each.how, each.fixtures, each.done, each.open, each.content]
        rows.append([*told, each.whole, each.holds, ""])
        for which in ("was", "now"):
            for line in getattr(each, which):
                rows.append([each.covers, each.name, each.day, *[None] * 7, _changed(which, line)])
    return _table("accepted", heads, rows, [_say("accepted.about" if rows else "accepted.none")])


def _changed(which: str, line: str) -> str:
    return say(f"handover-report.accepted.{which}", {"line": line})


def _signed(report: Report) -> OutTable:
    """What each signature was put to, line by line as its SHA-256 is made of them, the fields of a line in a cell each."""
    rows: list[Row] = [
        [each.content, place, *line.split("\t")] for each in report.accepted for place, line in enumerate(each.lines, 1)
    ]
    widest = max(len(row) for row in rows)
    heads = [_say("accepted.hash"), _say("accepted.line"), *[_say("accepted.field")] * (widest - 2)]
    return _table("signed", heads, [[*row, *[None] * (widest - len(row))] for row in rows], [_say("signed.about")])


def _fixtures(report: Report) -> OutTable:
    heads = [*_list(*PLACE), *(_say(code) for code in ("fixture", "label", "state", "now-fitted", "sheet.released"))]
    heads += [_say(code) for code in ("sheet.as-released", "set-to", "release", "day")] + _list("emergency")
    rows: list[Row] = [
        [
            room.floor_name,
            room.name,
            group.mark,
            each.position,
            each.code,
            state_text(each.state),
            now_fitted(each),
            each.released,
            each.as_released,
            each.setting_ma,
            each.release,
            each.day,
            each.emergency,
        ]
        for room, group in _groups(report)
        for each in group.fixtures
    ]
    return _table("fixtures", heads, rows)


def _energy(report: Report) -> OutTable:
    heads = [*_list(*PLACE), _say("fixtures"), _say("sheet.done"), _say("release")]
    heads += [_say(f"energy.{name}") for name in (*ENERGY, "lux", "lux_least", "lux_most")]
    money = ("cost", "saving_year") if report.money is not None else ()
    heads += [f"{_say(f'money.{name}')} [{report.money.currency}]" for name in money if report.money is not None]
    rows: list[Row] = []
    for room, group in _groups(report):
        if group.energy is None:
            continue
        done = sum(each.state == DONE for each in group.fixtures)
        row: Row = [room.floor_name, room.name, group.mark, len(group.fixtures), done, group.release]
        row += [energy_figure(group.energy, name) for name in ENERGY]
        row += [group.energy.lux, *(group.energy.range_lux or (None, None))]
        rows.append([*row, *([group.cost, group.saving_year] if money else [])])
    return _table("energy", heads, rows, list(report.assumptions))


def _money(report: Report) -> OutTable:
    assert report.money is not None
    heads = [_say("sheet.figure"), _say("sheet.value"), _say("money.currency")]
    rows: list[Row] = [
        [_say(f"money.{name}"), _say("money.not-known") if value is None else value, report.money.currency]
        for name, value in report.money.sums.items()
    ]
    rows += [[name, amount, report.money.currency] for name, amount in cost_lines(report)]
    return _table("money", heads, rows)


def _light(report: Report) -> OutTable:
    heads = [*_list("floor", "room"), *(_say(f"light.{code}") for code in ("point", "when", "lux", "read"))]
    rows: list[Row] = [
        [room.floor_name, room.name, each.point, _say(f"chart.{each.when}"), each.lux, each.day]
        for room in report.rooms
        for each in room.light
    ]
    tasks = [f"{room.name}: {' '.join(room.task)}" for room in report.rooms if room.task]
    return _table("light", heads, rows, [_say("light.about" if rows else "light.none"), *tasks])


def _waste(report: Report) -> OutTable:
    heads = [say(f"files.waste.{name}") for name in ("what", "which", "number")]
    return _table("waste", heads, [list(row) for row in waste_rows(report)], waste_notes(report))


def _containers(report: Report) -> OutTable:
    rows: list[Row] = [[each.room_name, each.what, each.item, each.day, each.number] for each in report.containers]
    return _table("containers", container_heads(), rows, [_say("containers.about")])


def _photos(report: Report) -> OutTable:
    heads = [
        *_list(*PLACE),
        _say("fixture"),
        _say("state"),
        _say("day"),
        _say("sheet.caption"),
        _say("sheet.arrived"),
        _say("sheet.hash"),
    ]
    rows: list[Row] = [
        [
            room.floor_name,
            room.name,
            group.mark,
            each.position,
            _say("photo.after" if each.after else "photo.before"),
            each.day,
            each.caption,
            each.arrived,
            each.sha256,
        ]
        for room, group in _groups(report)
        for each in group.photos
    ]
    return _table("photos", heads, rows)


def _warranties(report: Report) -> list[Row]:
    return [
        [each.code, each.name, each.number, each.years, each.first_day, each.last_day, text[-1]]
        for each, text in zip(report.warranties, warranty_rows(report), strict=True)
    ]


def _spares(report: Report) -> list[Row]:
    return [
        [each.code, each.name, each.supplier, each.supplier_number, each.lead_days, each.left] for each in report.spares
    ]


def _releases(report: Report) -> OutTable:
    heads = [
        _say(code)
        for code in ("release", "releases.day", "releases.groups", "fixtures", "releases.rules", "releases.catalogue")
    ]
    heads += [_say("releases.withdrawn")]
    with_money = report.money is not None
    heads += [_say(f"money.{name}") for name in ("cost", "rebate", "npv")] if with_money else []
    rows: list[Row] = [
        [
            each.number,
            each.day,
            each.groups,
            each.fixtures,
            each.rules_version,
            each.catalogue,
            each.withdrawn,
            *([each.cost, each.rebate, each.npv] if with_money else []),
        ]
        for each in report.releases
    ]
    return _table("releases", heads, rows)
