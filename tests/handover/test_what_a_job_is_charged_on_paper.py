"""What a job is charged, as customers read it: in the hand-over report and its workbook, and between releases."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

from openpyxl import load_workbook
from tests.handover.some_report import a_report

from spanwalk.rules.money.job_charges import CREW_DAY, Bare, Charges, CostLine, SharedCost, lines_of
from spanwalk.services.handover.summary import cost_lines, money_lines
from spanwalk.services.handover.told import MoneyTold, Report
from spanwalk.services.handover.workbook import report_workbook
from spanwalk.services.releases.differences import charges_between
from spanwalk.services.text.cost_lines import for_customers, has_charges, name_of, where_from


def lines(mobilisation: float = 450.0) -> list[CostLine]:
    """Items 1,000, work 600, two days of travel at 48, mobilisation, a permit of 85 and 1.2 %, 8 % tax on items."""
    charges = Charges(mobilisation, 85.0, 0.012, {CREW_DAY: SharedCost(840.0, 48.0)}, 0.08, "materials")
    return lines_of(Bare(1_000.0, 600.0, 0.0, 0.0, {CREW_DAY: 900.0}), charges)


def report() -> Report:
    told = for_customers(lines())
    money = MoneyTold("USD", {"cost": round(sum(each["amount"] for each in told), 2)}, tuple(told))
    return replace(a_report(), money=money)


def test_a_customer_reads_one_line_for_the_work_and_no_hours_of_a_crew() -> None:
    told = for_customers(lines())
    assert [(name_of(each), each["amount"]) for each in told] == [
        ("Items, labour, platforms and disposal", 1_600.0),
        ("Travel", 96.0),
        ("Mobilisation", 450.0),
        ("Permit", 110.75),
        ("Tax", 80.0),
    ]
    assert [where_from(each) for each in told[1:]] == [
        "2 days × 48.00",
        "Once for the job",
        "85.00 and 1.2 % of 2,146.00",
        "8 % of 1,000.00: materials; before rebates",
    ]
    (travel,) = [each for each in lines() if each["what"] == CREW_DAY]
    assert where_from(travel) == "2 days × 48.00: 15.0 h of work, 14.0 h a day for a crew"


def test_a_job_without_charges_has_no_lines_to_tell() -> None:
    assert not has_charges(lines_of(Bare(1_000.0, 600.0, 0.0, 0.0, {}), Charges()))


def test_the_reports_lines_add_up_to_its_cost_on_paper_and_in_the_workbook() -> None:
    whole = report()
    assert whole.money is not None
    assert round(sum(amount for _, amount in cost_lines(whole)), 2) == whole.money.sums["cost"]
    assert [name for name, _ in money_lines(whole)] == ["Cost"]
    book = load_workbook(BytesIO(report_workbook(whole)))
    sheets = (row for sheet in book.worksheets for row in sheet.iter_rows(values_only=True))
    rows = {str(row[0]): row[1] for row in sheets if len(row) > 1}
    assert rows["Of the cost, Travel (2 days × 48.00)"] == 96
    assert rows["Of the cost, Tax (8 % of 1,000.00: materials; before rebates)"] == 80


def test_between_two_releases_each_charge_stands_with_what_it_changes_by() -> None:
    told = charges_between(lines_of(Bare(1_000.0, 600.0, 0.0, 0.0, {}), Charges(400.0)), lines())
    assert [(each["name"], each["from"], each["to"], each["more"]) for each in told] == [
        ("line.mobilisation", 400.0, 450.0, 50.0),
        ("line.crew-day", 0.0, 96.0, 96.0),
        ("line.permit", 0.0, 110.75, 110.75),
        ("line.tax", 0.0, 80.0, 80.0),
    ]
