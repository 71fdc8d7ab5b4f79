"""The bench in a real browser: typing survives, sliders move the window, faults beside fields."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from playwright.sync_api import Page, expect

from browser.conftest import PHONE, Screens
from browser_checks import axe_findings, small_targets, wider_than_screen


def _bench(screens: Screens, **options: object) -> Page:
    page = screens.open("/bench", **options)  # type: ignore[arg-type]
    page.locator("body[data-ready]").wait_for()
    return page


def _type_trial(page: Page, ratio: str, coat: str) -> None:
    for field, text in (("ratio", ratio), ("hardness", "250"), ("age", "240"), ("coat", coat)):
        page.locator(f"#trial-{field}").fill(text)
    page.get_by_role("button", name="Keep this trial").click()


def test_trials_are_kept_fitted_and_still_there_after_a_reload(screens: Screens) -> None:
    """Three trials typed; the fit and its figure come; a reload shows them again."""
    page = _bench(screens)
    expect(page.locator("#trial-list")).to_contain_text("No trial is kept in this job yet.")
    expect(page.locator(".next-first")).not_to_be_empty()
    for ratio, coat in (("0.8", "0.06"), ("1.0", "0.1"), ("1.2", "3/16 in")):
        _type_trial(page, ratio, coat)
        expect(page.locator("#trial-list")).to_contain_text(f"{float(ratio):g} %")
    expect(page.locator("#fit")).to_contain_text("3 readings of 3 trials")
    expect(page.locator("#fit .chart canvas")).to_be_visible()
    page.reload()
    expect(page.locator("#trial-list tbody tr")).to_have_count(3)


def test_what_is_typed_survives_a_reload_until_it_is_kept(screens: Screens) -> None:
    """Half a trial typed, then the page is lost: it stands there again."""
    page = _bench(screens)
    page.locator("#trial-ratio").fill("1.35")
    page.locator("#trial-way").select_option("funnel")
    page.locator("#trial-funnel").fill("61")
    page.reload()
    page.locator("body[data-ready]").wait_for()
    expect(page.locator("#trial-ratio")).to_have_value("1.35")
    expect(page.locator("#trial-funnel")).to_be_visible()
    expect(page.locator("#trial-funnel")).to_have_value("61")


def test_a_fault_stands_beside_its_field(screens: Screens) -> None:
    """Hardness below nothing: told under it, the field marked and focused, nothing kept."""
    page = _bench(screens)
    page.locator("#trial-ratio").fill("1.0")
    page.locator("#trial-hardness").fill("-4 mg/L")
    page.locator("#trial-age").fill("20")
    page.locator("#trial-coat").fill("0.1")
    page.get_by_role("button", name="Keep this trial").click()
    expect(page.locator("#trial-hardness-fault")).to_contain_text("wanted 0 to 5000 mg/L")
    expect(page.locator("#trial-hardness")).to_be_focused()
    expect(page.locator("#trial-hardness")).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#trial-list")).to_contain_text("No trial is kept")
    assert all("status of 400" in one for one in screens.watched.complaints)
    screens.watched.complaints.clear()  # the browser's own word on a refused request


def test_slider_moves_the_window_by_keyboard(screens: Screens) -> None:
    """End on the hardness slider: the server answers with another lowest ratio, in words."""
    page = _bench(screens)
    lowest = page.locator("#mix .pairs dd").first
    before = lowest.inner_text()
    page.locator("#mix-hardness").focus()
    page.keyboard.press("End")
    expect(lowest).not_to_have_text(before)
    assert page.locator("#mix-hardness").get_attribute("aria-valuetext") == "600 mg/L"
    expect(page.locator("#mix .chart canvas")).to_be_visible()
    page.locator("#mix-ratio").focus()
    page.keyboard.press("Home")
    expect(page.locator("#mix .verdict")).to_contain_text("too thin")


def test_charts_follow_the_light_and_do_not_pile_up(screens: Screens) -> None:
    """However often the sliders move: by another light as many are drawn as stand on the page."""
    page = _bench(screens)
    page.evaluate(
        "() => { window.drawn = 0; const own = HTMLCanvasElement.prototype.getContext;"
        " HTMLCanvasElement.prototype.getContext = function (...given) {"
        " window.drawn += 1; return own.apply(this, given); }; }"
    )
    for _ in range(4):
        before = page.evaluate("window.drawn")
        page.locator("#mix-hardness").press("ArrowRight")
        page.wait_for_function("before => window.drawn > before", arg=before)
    page.wait_for_timeout(500)
    there = page.locator(".chart canvas").count()
    assert there >= 1
    lights: tuple[Callable[[], None], ...] = (
        page.get_by_role("radio", name="Night").check,
        page.get_by_role("radio", name="Auto").check,
        partial(page.emulate_media, color_scheme="dark"),
    )
    for by_light in lights:
        page.evaluate("window.drawn = 0")
        by_light()
        page.wait_for_timeout(300)
        assert page.evaluate("window.drawn") == there


def test_checks_are_judged_as_they_are_typed_and_stay(screens: Screens) -> None:
    """Three draws by keyboard; what to set; a window judges; all there after a reload."""
    page = _bench(screens)
    for drawn in ("0.91", "0.90", "0.92"):
        for field, text in (
            ("dial", "1.0"),
            ("drawn", drawn),
            ("seconds", "60"),
            ("mix_flow", "30"),
        ):
            page.locator(f"#check-{field}").fill(text)
        page.locator("#check-mix_flow").press("Enter")
        expect(page.locator("#checks")).to_contain_text(f"{float(drawn) / 1.1356:.2f} +-")
    page.get_by_label("Mix window").fill("0.9 % to 1.3 %")
    page.get_by_label("Mix window").press("Tab")
    expect(page.locator("#checks")).to_contain_text("mix window: too lean")
    page.reload()
    expect(page.locator(".device tbody tr")).to_have_count(3)
    page.get_by_role("button", name="Take check 2 out").click()
    expect(page.locator(".device tbody tr")).to_have_count(2)


def test_a_table_is_taken_in(screens: Screens, tmp_path: Path) -> None:
    """A CSV chosen from the disk: its trials are in the list."""
    table = tmp_path / "trials.csv"
    table.write_text("id,ratio (%),hardness (mg/L),age (min),coat (mm)\nt1,1,250,240,2.6\n")
    page = _bench(screens)
    page.locator("#trial-file").set_input_files(table)
    expect(page.locator("#trial-list")).to_contain_text("t1")


def test_units_switch_without_a_reload(screens: Screens) -> None:
    """Inches become millimetres in form, sliders and figure."""
    page = _bench(screens)
    expect(page.locator("label[for=trial-coat]")).to_have_text("Coat, in")
    page.get_by_label("Metric").check(force=True)
    expect(page.locator("label[for=trial-coat]")).to_have_text("Coat, mm")
    expect(page.locator("label[for=mix-coat]")).to_contain_text("mm")


def test_bench_is_clean_by_axe_fits_a_phone_and_a_glove(screens: Screens) -> None:
    """No finding by WCAG 2.2 AA with trials there, day and night, desk and phone."""
    page = _bench(screens)
    _type_trial(page, "1.0", "0.1")
    expect(page.locator("#trial-list tbody tr")).to_have_count(1)
    for size in (None, PHONE):
        for light in ("light", "dark"):
            page = _bench(screens, size=size, light=light)
            expect(page.locator("#fit .chart canvas")).to_be_visible()
            assert axe_findings(page) == []
            assert wider_than_screen(page) == 0
            assert small_targets(page) == []
