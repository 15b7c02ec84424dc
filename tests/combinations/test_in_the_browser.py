"""On the phone a value that cannot be is refused at the form, what was typed stays; what an older app saved stays visible."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import BrowserContext, expect
from tests.phone.conftest import until, with_the_site
from tests.support.server import Server

SAID = "Cap G13 does not go with Diameter T5; Diameter must then be T8 or T12."
NewPhone = Callable[..., BrowserContext]
# Straight into the storage, as an app did whose form did not know the rule yet.
SAVED_BEFORE = """async () => {
  const [kind] = await site.all('kind');
  const { value, seen } = await site.form(kind.id, 'lamps');
  await site.storage.save([{ record: kind.id, type: 'kind', facet: 'lamps', value: { ...value, cap: 'G13', diameter: 'T5' }, seen }]);
  return kind.id;
}"""


def test_a_form_refuses_what_cannot_be_and_keeps_what_was_typed(server: Server, new_phone: NewPhone) -> None:
    context = new_phone()
    page = with_the_site(context, server.url)
    context.set_offline(True)
    kind = page.evaluate("async () => (await site.all('kind'))[0].id")
    page.evaluate(
        "async ([path]) => (await import('/app/views/navigate.js')).navigate(path)",
        [f"/s/{page.evaluate('site.id')}/record/{kind}/lamps"],
    )
    page.get_by_label("T5", exact=True).check()
    page.get_by_label("Cap").select_option(label="G13")
    page.get_by_label("Lamp watts [W]").fill("28")
    page.set_viewport_size({"width": 360, "height": 400})
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("alert")).to_have_text(SAID)
    expect(page.get_by_role("alert")).to_be_in_viewport()
    expect(page.get_by_label("Lamp watts [W]")).to_have_value("28")
    assert page.evaluate("async () => (await site.unsent()).operations.length") == 0
    page.get_by_label("Cap").select_option(label="G5")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_label("Lamp watts [W]")).to_have_count(0)
    assert page.evaluate("async (id) => (await site.get(id)).facets.lamps.lamp_w", kind) == 28


def test_no_other_screen_can_save_it_either(server: Server, new_phone: NewPhone) -> None:
    page = with_the_site(new_phone(), server.url)
    refused = page.evaluate(
        """async () => {
          const [group] = await site.all('group');
          const { value, seen } = await site.form(group.id, 'count');
          const draft = { record: group.id, type: 'group', facet: 'count', value: { ...value, dark_lamps: 9999 }, seen };
          return site.save([draft]).then(() => null, ({ code, facts }) => ({ code, title: facts.title }));
        }"""
    )
    assert refused == {"code": "combination.most-times", "title": "Dark lamps"}


def test_what_an_older_app_saved_comes_back_refused_visible_and_can_be_put_right(
    server: Server, new_phone: NewPhone
) -> None:
    page = with_the_site(new_phone(), server.url)
    kind = page.evaluate(SAVED_BEFORE)
    page.evaluate("store.syncNow()")
    until(page, "async () => (await site.unsent()).refused.length === 1")
    page.evaluate(
        "async ([path]) => (await import('/app/views/navigate.js')).navigate(path)",
        [f"/s/{page.evaluate('site.id')}/unsent"],
    )
    refused = page.get_by_role("region", name="Not taken by the server")
    expect(refused.locator(".problem")).to_have_text(SAID)
    refused.get_by_role("button", name="Correct it").click()
    refused.get_by_role("button", name="Send it so").click()
    expect(refused.get_by_role("alert")).to_have_text(SAID)
    refused.get_by_label("T8", exact=True).check()
    refused.get_by_role("button", name="Send it so").click()
    until(
        page,
        "async () => { const { operations, refused } = await site.unsent(); return operations.length + refused.length === 0; }",
    )
    assert page.evaluate("async (id) => (await site.get(id)).facets.lamps.diameter", kind) == "T8"
