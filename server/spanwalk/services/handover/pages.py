"""The hand-over report as a PDF, section after section; every figure in it is the one that the workbook has."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial

from spanwalk.services.background.making import Step, nobody
from spanwalk.services.days import day_of
from spanwalk.services.handover.charts import draw_chart
from spanwalk.services.handover.numbers import DIGITS, MONEY_DIGITS, number
from spanwalk.services.handover.paper import MARGIN, SMALL_PT, Paper, Picture
from spanwalk.services.handover.pictures import small_picture
from spanwalk.services.handover.rows import (
    ENERGY,
    collected_heads,
    collected_rows,
    container_heads,
    energy_figure,
    now_fitted,
    photo_text,
    spare_heads,
    spare_rows,
    state_text,
    warranty_heads,
    warranty_rows,
    waste_notes,
    waste_rows,
)
from spanwalk.services.handover.summary import charts, cost_lines, money_lines, sentences
from spanwalk.services.handover.told import AcceptedTold, GroupTold, PhotoTold, Report, RoomTold
from spanwalk.storage.photos import PhotoStore
from spanwalk.words import say

PICTURE_BYTES_MOST = 8_000_000
"""Of all small pictures together, so that the file stays below 10 MB and can be sent by mail."""
ACROSS, PICTURE_PT = 4, 96.0


def report_pdf(report: Report, store: PhotoStore, step: Step = nobody) -> bytes:
    """The report as a PDF.

    Parameters
    ----------
    report : Report
        What it tells.
    store : PhotoStore
        Where photos lie; they are fetched one at a time, small.
    step : callable
        Told after each room how many are drawn, and of how many.
    """
    title = say("handover-report.of", {"title": say("handover-report.title"), "site": report.site.name})
    foot = {"site": report.site.name, "day": report.made_on}
    paper = Paper(title, report.inches, lambda page: say("handover-report.page", {**foot, "n": page}))
    _summary(paper, report)
    paper.new_page()
    _open(paper, report)
    _closed(paper, report, store)
    _accepted(paper, report, store)
    _rooms(paper, report, store, step)
    _light(paper, report)
    if report.sums is not None:
        _energy(paper, report)
    _tests(paper, report)
    _waste(paper, report)
    _collected(paper, report)
    _warranties(paper, report)
    _told(paper, "cautions", report.cautions)
    _labels(paper)
    _told(paper, "sources", report.sources, SMALL_PT)
    return paper.finished()


def _summary(paper: Paper, report: Report) -> None:
    site = report.site
    paper.heading(say("handover-report.of", {"title": say("handover-report.title"), "site": site.name}))
    if site.address:
        paper.say(site.address)
    for code, value in (("for", site.customer), ("by", site.firm), ("call", site.call)):
        if value:
            paper.say(say(f"handover-report.{code}", {"customer": value, "firm": value, "call": value}))
    paper.say(say("handover-report.made", {"day": report.made_on}), size=SMALL_PT)
    paper.heading(say("handover-report.summary"), 2)
    for place, sentence in enumerate(sentences(report)):
        paper.say(sentence, bold=place == 0, bullet=place > 0)
    for name, value in money_lines(report):
        paper.say(f"{name}: {value}", bullet=True)
    _charts(paper, report)
    paper.say(say("handover-report.tagged"), size=SMALL_PT)


def _charts(paper: Paper, report: Report) -> None:
    paper.gap(8)
    for chart in charts(report):
        paper.need(chart.height + 10)
        said = f"{chart.title}: {'; '.join(f'{bar.name} {bar.text}' for bar in chart.bars)}"
        paper.figure(said, partial(draw_chart, paper.canvas, chart, MARGIN, paper.y, paper.inner))
        paper.gap(chart.height + 12)


def _open(paper: Paper, report: Report) -> None:
    paper.heading(say("handover-report.open"))
    paper.say(say("handover-report.open.about" if report.open else "handover-report.open.none"))
    if report.open:
        heads = [say("list.floor"), say("list.room"), say("handover-report.open.what")]
        paper.table(heads, [(each.floor_name, each.room_name, each.text) for each in report.open], (2, 3, 8))


def _closed(paper: Paper, report: Report, store: PhotoStore) -> None:
    if not report.closed:
        return
    paper.heading(say("handover-report.closed"), 2)
    paper.say(say("handover-report.closed.about"))
    heads = [*(say(f"list.{code}") for code in ("floor", "room")), *(say(f"handover-report.{code}") for code in CLOSED)]
    rows = [
        (each.floor_name, each.room_name, each.text, each.how, each.words or "–", each.day or "–")
        for each in report.closed
    ]
    paper.table(heads, rows, (1.6, 2.4, 5, 1.8, 4, 1.6))
    for each in report.closed:
        if each.photos:
            paper.need(PICTURE_PT + 40)
            paper.say(f"{each.room_name}: {each.text}", size=8.5)
            _photos(paper, each.photos, store)


CLOSED = ("open.what", "closed.how", "closed.words", "day")


def _accepted(paper: Paper, report: Report, store: PhotoStore) -> None:
    paper.heading(say("handover-report.accepted"))
    if not report.accepted:
        paper.say(say("handover-report.accepted.none"))
        return
    paper.say(say("handover-report.accepted.about"))
    for each in report.accepted:
        _signature(paper, each, store)


def _signature(paper: Paper, signed: AcceptedTold, store: PhotoStore) -> None:
    paper.heading(signed.covers, 2, keep=120)
    facts = {"name": signed.name, "day": signed.day, "how": signed.how}
    paper.say(say("handover-report.accepted.by", facts), bold=True)
    counts = {"fixtures": signed.fixtures, "done": signed.done, "open": signed.open}
    paper.say(say("handover-report.accepted.counts", counts))
    paper.say(say("handover-report.accepted.content", {"content": signed.content}), size=SMALL_PT)
    if signed.signature is not None:
        fetched = partial(small_picture, store, signed.signature)
        shown = Picture(signed.signature.sha256, "", fetched)
        paper.pictures([shown], 3, SIGNATURE_PT, say("handover-report.photo.not-there"))
    if not signed.whole:
        paper.say(say("handover-report.accepted.broken"), bold=True)
    elif signed.holds:
        paper.say(say("handover-report.accepted.holds"))
    else:
        paper.say(say("handover-report.accepted.since"), bold=True)
        _changed(paper, "was", signed.was)
        _changed(paper, "now", signed.now)


def _changed(paper: Paper, which: str, lines: Sequence[str]) -> None:
    for line in lines[:CHANGES_MOST]:
        paper.say(say(f"handover-report.accepted.{which}", {"line": line}), size=8.5, bullet=True)
    if len(lines) > CHANGES_MOST:
        paper.say(say("handover-report.accepted.more", {"n": len(lines) - CHANGES_MOST}), size=8.5)


SIGNATURE_PT = 60.0
CHANGES_MOST = 40
"""Told on paper of one signature; the workbook has all."""


def _rooms(paper: Paper, report: Report, store: PhotoStore, step: Step) -> None:
    paper.heading(say("handover-report.rooms"), keep=260)
    paper.say(say("handover-report.rooms.about"))
    left, floor = 0, None
    for place, room in enumerate(report.rooms):
        step(place, len(report.rooms))
        if room.floor_name != floor:
            floor = room.floor_name
            paper.heading(floor or "–", 2, keep=120)
        left += _room(paper, room, store)
    step(len(report.rooms), len(report.rooms))
    if left:
        paper.say(say("handover-report.photos.left", {"n": left}), bold=True)


def _room(paper: Paper, room: RoomTold, store: PhotoStore) -> int:
    """A room; how many of its photos are left out."""
    paper.heading(room.name, 3, keep=80)
    return sum(_group(paper, group, store) for group in room.groups)


def _group(paper: Paper, group: GroupTold, store: PhotoStore) -> int:
    facts = {"mark": group.mark, "n": len(group.fixtures)}
    about = " · ".join(each for each in (say("handover-report.group", facts), group.title, group.note) if each)
    paper.need(70)
    paper.say(about, bold=True, size=8.5)
    if group.released is None:
        paper.say(say("handover-report.group.not-in-force"), size=8.5)
    else:
        released = {"number": group.release, "what": group.released}
        paper.say(say("handover-report.group.released", released), size=8.5)
    _light_forecast(paper, group)
    heads = [say(f"handover-report.{code}") for code in HEADS]
    paper.table(heads, [_fixture_row(group, place) for place in range(len(group.fixtures))], SHARES, (3,))
    return _photos(paper, group.photos, store)


HEADS = ("fixture", "label", "now-fitted", "set-to", "release", "day", "state")
SHARES = (1, 2.4, 8, 1.4, 1.3, 2, 2.2)


def _fixture_row(group: GroupTold, place: int) -> Sequence[str]:
    each = group.fixtures[place]
    release = str(each.release) if each.release is not None else "–"
    return (
        str(each.position),
        each.code or "–",
        now_fitted(each),
        each.setting_ma or "–",
        release,
        each.day or "–",
        state_text(each.state),
    )


def _light_forecast(paper: Paper, group: GroupTold) -> None:
    energy = group.energy
    if energy is None:
        return
    if energy.day_one_lux is not None and energy.day_one_range_lux is not None:
        first: dict[str, object] = {"lux": energy.day_one_lux}
        first |= {"least": energy.day_one_range_lux[0], "most": energy.day_one_range_lux[1]}
        paper.say(say("handover-report.group.day-one", first), size=8.5)
    if energy.lux is not None and energy.range_lux is not None:
        facts: dict[str, object] = {"lux": energy.lux, "least": energy.range_lux[0], "most": energy.range_lux[1]}
        paper.say(say("handover-report.group.lux", facts), size=8.5)
    elif energy.share_of_today_pct is not None:
        paper.say(say("handover-report.group.light", {"pct": number(energy.share_of_today_pct)}), size=8.5)
    if energy.corrected is not None:
        paper.say(energy.corrected, size=8.5)


def _photos(paper: Paper, photos: Sequence[PhotoTold], store: PhotoStore) -> int:
    shown: list[Picture] = []
    left = 0
    for start in range(0, len(photos), ACROSS):
        row = photos[start : start + ACROSS]
        if paper.picture_bytes >= PICTURE_BYTES_MOST:
            left += len(row)
            continue
        shown = [Picture(each.sha256, photo_text(each), partial(small_picture, store, each)) for each in row]
        paper.pictures(shown, ACROSS, PICTURE_PT, say("handover-report.photo.not-there"))
    return left


def _light(paper: Paper, report: Report) -> None:
    paper.heading(say("handover-report.light"))
    read = [(room, each) for room in report.rooms for each in room.light]
    if not read:
        paper.say(say("handover-report.light.none"))
        _on_tasks(paper, report)
        return
    paper.say(say("handover-report.light.about"))
    heads = [say("list.room"), *(say(f"handover-report.light.{code}") for code in ("point", "when", "read", "lux"))]
    rows = [
        (room.name, each.point, say(f"handover-report.chart.{each.when}"), each.day or "–", number(each.lux, 1))
        for room, each in read
    ]
    paper.table(heads, rows, (4, 3, 2, 2, 2), (4,))
    _on_tasks(paper, report)


def _on_tasks(paper: Paper, report: Report) -> None:
    """The light on task areas over the mean of their rooms."""
    with_task = [room for room in report.rooms if room.task]
    if with_task:
        paper.heading(say("handover-report.light.tasks"), 2)
        paper.say(say("handover-report.light.tasks-about"))
    for room in with_task:
        paper.say(f"{room.name}: {' '.join(room.task)}", bullet=True)


def _energy(paper: Paper, report: Report) -> None:
    paper.heading(say("handover-report.energy"))
    paper.say(say("handover-report.energy.about"))
    heads = [
        say("list.room"),
        say("list.kind"),
        say("handover-report.fixtures"),
        *(say(f"handover-report.energy.{name}") for name in ENERGY),
    ]
    rows = [
        (room.name, group.mark, str(len(group.fixtures)), *_figures(group))
        for room in report.rooms
        for group in room.groups
        if group.energy is not None
    ]
    paper.table(
        heads, [*rows, _together(report)], (4, 1.4, 1.6, *(1.8 for _ in ENERGY)), tuple(range(2, 3 + len(ENERGY)))
    )
    if report.money is not None:
        paper.heading(say("handover-report.money"), 2)
        currency = report.money.currency
        cost = [(name, f"{currency} {number(amount, MONEY_DIGITS)}".strip()) for name, amount in cost_lines(report)]
        paper.table(
            [say("handover-report.sheet.figure"), say("handover-report.sheet.value")],
            [*money_lines(report), *cost],
            (2, 1),
            (1,),
        )
    paper.heading(say("handover-report.rests"), 2)
    for sentence in report.assumptions:
        paper.say(sentence, bullet=True)
    _releases(paper, report)


def _figures(group: GroupTold) -> list[str]:
    return [number(energy_figure(group.energy, name), DIGITS[name]) for name in ENERGY]


def _together(report: Report) -> Sequence[str]:
    sums = report.sums
    told = {} if sums is None else {name: getattr(sums, name, None) for name in ENERGY}
    fixtures = "" if sums is None else str(sums.fixtures)
    figures = ["" if told.get(name) is None else number(told[name], DIGITS[name]) for name in ENERGY]
    return (say("handover-report.energy.together"), "", fixtures, *figures)


def _releases(paper: Paper, report: Report) -> None:
    paper.heading(say("handover-report.releases"), 2)
    codes = (
        "release",
        "releases.day",
        "releases.groups",
        "fixtures",
        "releases.rules",
        "releases.catalogue",
        "releases.withdrawn",
    )
    rows = [
        (str(r.number), r.day, str(r.groups), str(r.fixtures), r.rules_version, r.catalogue or "–", r.withdrawn or "–")
        for r in report.releases
    ]
    paper.table([say(f"handover-report.{code}") for code in codes], rows, (1, 1.5, 1, 1, 1, 3, 3), (0, 2, 3))
    without = [each.number for each in report.releases if not each.has_sums]
    if without:
        paper.say(say("handover-report.releases.without-sums", {"numbers": without}))


def _tests(paper: Paper, report: Report) -> None:
    paper.heading(say("handover-report.tests"))
    if not report.tests.rows:
        paper.say(say("handover-report.tests.none"))
        return
    paper.say(say("handover-report.tests.about"))
    heads = dict(zip(report.tests.names, report.tests.heads, strict=True))
    rows = [_test_row(dict(zip(report.tests.names, row, strict=True)), report.site.zone) for row in report.tests.rows]
    titles = [heads["room_name"], heads["position"], heads["duty"], *(heads[name] for name in TEST_COLUMNS)]
    paper.table(titles, rows, (2.6, 1.3, 3, 2.2, 1.3, 1.1, 1.2, 1.4, 1.4, 2.5))


TEST_COLUMNS = ("state", "indicator", "minutes", "wanted_min", "due_on", "noted_at", "note")


def _test_row(told: Mapping[str, str], zone: str) -> Sequence[str]:
    """A line of the record: where, what feeds it in an emergency, and what the test came to."""
    fed = ": ".join(each for each in (told["duty"], told["pack"] or told["second_source"]) if each)
    cells = {**told, "noted_at": day_of(told["noted_at"], zone)}
    where = f"{told['mark']} · {told['position']}"
    return (told["room_name"], where, fed, *(cells[name] or "–" for name in TEST_COLUMNS))


def _waste(paper: Paper, report: Report) -> None:
    paper.heading(say("handover-report.waste"))
    for note in waste_notes(report):
        paper.say(note)
    rows = [(what, which, number(count)) for what, which, count in waste_rows(report)]
    if rows:
        paper.table([say(f"files.waste.{name}") for name in ("what", "which", "number")], rows, (3, 5, 2), (2,))
    else:
        paper.say(say("handover-report.waste.none"), bold=True)
    if report.containers:
        paper.heading(say("handover-report.containers"), 2)
        paper.say(say("handover-report.containers.about"))
        told = [(each.room_name, each.what, each.item, each.day, number(each.number)) for each in report.containers]
        paper.table(container_heads(), told, (4, 3, 4, 2, 2), (4,))


def _collected(paper: Paper, report: Report) -> None:
    if report.collected:
        paper.heading(say("proof.table.collected"), 2)
        rows = [["–" if each in (None, "") else str(each) for each in row] for row in collected_rows(report)]
        paper.table(collected_heads(), rows, (2, 4, 2, 2.4, 1.8, 1.6, 1.6, 3), (4, 5, 6))


def _warranties(paper: Paper, report: Report) -> None:
    paper.heading(say("handover-report.warranties"))
    if not report.warranties:
        paper.say(say("handover-report.warranties.none"))
        return
    paper.say(say("handover-report.warranties.about"))
    paper.table(warranty_heads(), warranty_rows(report), (3, 4, 1.5, 1.5, 2.2, 2.2, 2.2), (2, 3))
    if report.spares:
        paper.heading(say("handover-report.spares"), 2)
        paper.say(say("handover-report.spares.about"))
        paper.table(spare_heads(), spare_rows(report), (3, 4, 4, 3, 2, 2), (4, 5))


def _told(paper: Paper, section: str, told: Sequence[str], size: float = 9.0) -> None:
    paper.heading(say(f"handover-report.{section}"))
    paper.say(say(f"handover-report.{section}.about"))
    for each in told:
        paper.say(each, bullet=True, size=size)


def _labels(paper: Paper) -> None:
    paper.heading(say("handover-report.labels"))
    for code in ("code", "letters", "scan", "no-lamps"):
        paper.say(say(f"handover-report.labels.{code}"), bullet=True, size=9.0)
