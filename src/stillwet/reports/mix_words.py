"""The mix window in sentences: what to set, what stops a mix, and why a window is closed."""

from __future__ import annotations

import math

from stillwet.domain.basis import Basis, Input
from stillwet.domain.mix_window import (
    AssetWindow,
    CrewWindow,
    Fit,
    FlowAtNozzle,
    MixWindow,
    Sign,
    Wall,
    WallKind,
    WaterWindow,
)
from stillwet.reports.words import (
    NONE,
    Units,
    bore,
    coat,
    count_words,
    input_name,
    input_value,
    percent_number,
    quantity,
    ratio,
    short_name,
)
from stillwet.units import from_si

LONGEST_NAME = 40
BEYOND = 0.3  # no mix is that rich: a wall there is none

_STOPPED = {
    WallKind.CLING: "leaner, the coat slides off",
    WallKind.FALL: "richer, the mix is too stiff to wet the face and falls off",
    WallKind.PUMP: "richer, the crew's flow does not come out",
    WallKind.LABEL_LOW: "the label's lowest ratio",
    WallKind.LABEL_HIGH: "the label's highest ratio",
}


def stopped_by(wall: Wall) -> str:
    """What a wall is, in words."""
    return _STOPPED[wall.kind]


def percent(fraction: float) -> str:
    """A ratio as percent, "none" where there is no such ratio."""
    return f"{percent_number(fraction)} %" if 0.0 < fraction < BEYOND else "none"


def span(low: float, high: float) -> str:
    """Two ratios as "1.20 to 1.60 %"; the upper may be without end."""
    if low >= BEYOND or high <= 0.0:
        return "none"
    if high >= BEYOND:
        return f"{percent_number(low)} % or none" if low > 0.0 else "anywhere, or none"
    ends = dict.fromkeys((percent_number(low), percent_number(high)))
    return f"{' to '.join(ends)} %"


def pressure(pascal: float, units: Units) -> str:
    """A pressure as a gauge shows it."""
    if units is Units.US:
        return f"{from_si(pascal, 'psi'):.0f} psi"
    return f"{from_si(pascal, 'kpa'):.0f} kPa"


def hardness(kg_m3: float) -> str:
    """A hardness as a test strip shows it."""
    return f"{from_si(kg_m3, 'mg/l'):.0f} mg/L as CaCO3"


def name_of(text: str) -> str:
    """A user's name, made safe and short."""
    return short_name(text, LONGEST_NAME)


def headline(window: MixWindow) -> str:
    """The answer in one sentence."""
    basis = window.ratio_basis
    if not window.is_open:
        return _closed_headline(window)
    low, high = window.lower.ratio, window.upper.ratio
    told = f"The window is open from {percent(low)} to {ratio(high, basis)}"
    if percent(low) == percent(high):
        told = f"The window is open at {ratio(high, basis)} alone"
    ways = [(crew.fit, crew) for crew in window.crews if crew.fit is not Fit.CLOSED]
    if not window.crews:
        return f"{told}."
    if not ways:
        return f"{told}, but no crew can pump a mix that rich."
    settings = {percent_number(crew.ratio) for _, crew in ways}
    if len(settings) == 1:
        return f"{told}: set {settings.pop()} %."
    return f"{told}: each crew sets its own."


def _closed_headline(window: MixWindow) -> str:
    if not window.is_one_ratio_enough:
        return (
            "No one ratio serves every asset: what one needs at the least is more than another "
            "bears. Ask for one asset at a time."
        )
    if window.assets and all(one.is_closed_by_hardness for one in window.assets):
        return (
            "The window is closed by hard water: no ratio on the label keeps the coat."
            + plan_sentence(window)
        )
    return (
        "The window is closed: no ratio on the label keeps the coat that is needed."
        + plan_sentence(window)
    )


def plan_sentence(window: MixWindow) -> str:
    """That the crews' sheets still name a ratio where none is sure, and what it is worth."""
    if window.is_open or window.plan_ratio <= 0.0:
        return ""
    told = ratio(window.plan_ratio, window.ratio_basis)
    return f" The sheets' {told} is for coats told as DOUBTFUL: not one of them is sure."


def crew_sentence(crew: CrewWindow, window: MixWindow, units: Units) -> str:
    """What one crew sets, and what its proportioner does to that; or why it cannot."""
    basis = window.ratio_basis
    wide = span(crew.ratio * crew.delivered_low, crew.ratio * crew.delivered_high)
    inside = span(window.lower.ratio, crew.upper.ratio)
    if crew.fit is Fit.FITS:
        return (
            f"set {ratio(crew.ratio, basis)}. A proportioner that delivers {_band(crew)} of that "
            f"gives {wide}, all inside {inside}. {_margins(crew)}"
        )
    if crew.fit is Fit.NARROW:
        return (
            f"set {ratio(crew.ratio, basis)}, with care: the window, {inside}, is narrower than "
            f"what a proportioner that delivers {_band(crew)} of it may give, {wide}. "
            f"{_first(crew)} Mix by the batch and measure both parts, or check the proportioner."
        )
    return _crew_closed(crew, window, units)


def _crew_closed(crew: CrewWindow, window: MixWindow, units: Units) -> str:
    flow = quantity(crew.wanted_flow_m3_s, "m3/s", units)
    if not window.is_open:
        return _without_window(crew, window, flow)
    if crew.upper.ratio == 0.0:
        return f"cannot: not even water leaves its nozzle at {flow}. Look at pump, hose and lift."
    return (
        f"cannot: the coat takes at least {percent(window.lower.ratio)}, and above "
        f"{percent(crew.upper.ratio)} its {flow} no longer comes out. A shorter or wider hose, "
        "more pressure or less flow; or leave the coating to another crew."
    )


def pumps_plan(crew: CrewWindow, window: MixWindow) -> bool:
    """Does the plan's mix come out, by one set of hose coefficients at least?"""
    return window.plan_ratio <= max(wall.ratio for wall in crew.pumps)


def _without_window(crew: CrewWindow, window: MixWindow, flow: str) -> str:
    """What a crew does where no ratio is sure: what its sheet says, if its pump brings it."""
    if window.plan_ratio <= 0.0:
        return "nothing to set: the window is closed before any pump comes into it."
    told = ratio(window.plan_ratio, window.ratio_basis)
    if pumps_plan(crew, window):
        return f"no setting is sure. The coats on its sheet, if it has any, are mixed at {told}."
    most = percent(max(wall.ratio for wall in crew.pumps))
    return (
        f"no setting is sure, and of the sheets' {told} its {flow} no longer comes out (most "
        f"{most}). Test the pattern before it is sent; a shorter or wider hose, more pressure or "
        "less flow helps; or leave the coating to another crew."
    )


def _band(crew: CrewWindow) -> str:
    return f"{100 * crew.delivered_low:.0f} to {100 * crew.delivered_high:.0f} %"


def _margins(crew: CrewWindow) -> str:
    lean, rich = math.floor(100 * crew.lean_margin), crew.rich_margin
    told = f"Margin: {lean} % leaner before the coat slides"
    if not math.isfinite(rich):
        return told + "."
    return f"{told}, {math.floor(100 * rich)} % richer before it meets {_upper_words(crew)}."


def _upper_words(crew: CrewWindow) -> str:
    return {
        WallKind.PUMP: "the pump's wall",
        WallKind.LABEL_HIGH: "the label's highest",
        WallKind.FALL: "the ratio that falls off",
    }[crew.upper.kind]


def _first(crew: CrewWindow) -> str:
    """Which wall is hit first, in terms of how far the proportioner may stray."""
    lean = crew.lean_margin / max(1.0 - crew.delivered_low, 1e-9)
    rich = crew.rich_margin / max(crew.delivered_high - 1.0, 1e-9)
    if lean <= rich:
        return "Hit first: too lean, and the coat slides off."
    return f"Hit first: too rich, at {_upper_words(crew)}."


def flow_sentence(flow: FlowAtNozzle, units: Units) -> str:
    """What leaves the nozzle, with the pressures on the way."""
    if flow.reason:
        return f"set {flow.coefficients} of hose coefficients: {flow.reason}"
    return (
        f"set {flow.coefficients} of hose coefficients: {quantity(flow.flow_m3_s, 'm3/s', units)}; "
        f"pump {pressure(flow.pump_pa, units)}, hose takes {pressure(flow.hose_pa, units)}, nozzle "
        f"gets {pressure(flow.nozzle_pa, units)}"
    )


def why_closed(asset: AssetWindow, window: MixWindow, units: Units) -> str:
    """Why no ratio serves an asset, and what would help."""
    if not asset.has_coat:
        return "no coat is thick enough, whatever the mix: see the plan."
    depth = coat(asset.coat_kg_m2, units)
    if math.isinf(asset.lower.ratio):
        return f"its {asset.lower_face} needs {depth}, more than any mix is sure to hold up."
    top = asset.upper
    told = f"its {asset.lower_face} needs {depth}, which takes {percent(asset.lower.ratio)}; " + (
        f"the label stops at {percent(top.ratio)}."
        if top.kind is WallKind.LABEL_HIGH
        else f"beyond {percent(top.ratio)} a mix falls off."
    )
    if asset.is_closed_by_hardness:
        told += f" Soft water would need {percent(asset.soft_lower)}."
    return told


def hard_water_sentence(window: MixWindow) -> str:
    """That hard water is what closes windows, where it is; empty where it is not."""
    water = window.water
    count = sum(one.is_closed_by_hardness for one in window.assets)
    if water is None or count == 0:
        return ""
    limit = window.hardness_limit_kg_m3
    only = "Softer water opens only those. " if limit is not None and limit <= 0.0 else ""
    return (
        f"Hard water closes {count_words(count, 'window')} here: at "
        f"{hardness(water.hardness_kg_m3)} ({name_of(water.name)}) a mix does what a thinner one "
        f"does in soft water, and the label leaves no room to make up for it. {only}"
        "Fill with softer water, or use another product."
    )


def later_sentence(window: MixWindow) -> str:
    """That a thinner coat laid later asks for less, where the plan lays all that clings."""
    held = [one for one in window.assets if one.name == window.lower_asset]
    if not any(one.is_at_cling_limit for one in held):
        return ""
    return (
        f"{name_of(window.lower_asset)} sets the least ratio. Its coat is as thick as it clings on "
        "the label; laid as late as its times allow, a thinner coat and a leaner mix would do."
    )


def water_sentence(water: WaterWindow, window: MixWindow) -> str:
    """What one of the waters does to the window."""
    about = hardness(water.hardness_kg_m3)
    if math.isinf(water.lower):
        return f"{about}: closed, no ratio keeps the coat"
    state = "open" if water.is_open else "closed"
    mark = " (reckoned with)" if water.is_reckoned_with else ""
    return f"{about}: {state}, needs {ratio(water.lower, window.ratio_basis)}{mark}"


def hardness_sentence(window: MixWindow) -> str:
    """From which hardness on the window is closed."""
    limit = window.hardness_limit_kg_m3
    if not window.waters:
        return "No water point is known: reckoned with soft water. Hard water asks for more."
    if limit is None:
        return "No natural hardness closes the window."
    if limit <= 0.0:
        return "Soft water does not open every asset's window either: see why each is closed."
    return (
        f"Water harder than {hardness(limit)} closes it. Test the water where you fill: hardness "
        "is told in mg/L or ppm; 1 grain a gallon is 17.1 mg/L."
    )


def sign_words(sign: Sign, units: Units) -> str:
    """What a test should show: middle and 90 % range."""
    if sign.unit == "kg/m2":
        middle, low, high = (coat(value, units) for value in (sign.middle, sign.low, sign.high))
    elif sign.unit == "m":
        name, places = ("in", 1) if units is Units.US else ("mm", 0)
        middle, low, high = (
            f"{from_si(value, name):.{places}f} {name}"
            for value in (sign.middle, sign.low, sign.high)
        )
    else:
        middle, low, high = (
            f"{_two_figures(from_si(value, 'cp'))} cP"
            for value in (sign.middle, sign.low, sign.high)
        )
    return middle if low == high else f"{middle} ({low} to {high})"


def _two_figures(value: float) -> str:
    if value <= 0.0:
        return "0"
    step = 10 ** (math.floor(math.log10(value)) - 1)
    return f"{round(value / step) * step:,.0f}"


def gear_value(item: Input, units: Units) -> str:
    """A number of a crew's gear as a crew says it."""
    if item.unit == "Pa" and not isinstance(item.value, str):
        return pressure(item.value, units)
    if input_name(item.name).endswith("hose bore") and not isinstance(item.value, str):
        return bore(item.value, units)
    return input_value(item, units)


def gear_interval(item: Input, units: Units) -> str:
    """How far it may be off."""
    low, high = item.basis.low, item.basis.high
    if low is None or high is None:
        return NONE
    ends = [gear_value(Input(item.name, end, item.unit, item.basis), units) for end in (low, high)]
    unit = ends[1].partition(" ")[2]
    return f"{ends[0].removesuffix(f' {unit}')} to {ends[1]}"


def assumed_gear(window: MixWindow) -> list[tuple[Input, list[str]]]:
    """The numbers of gear that nobody gave, each once, with the crews it was taken for."""
    found: dict[tuple[str, float | str, Basis], list[str]] = {}
    for item in window.inputs:
        crew, _, what = item.name.rpartition(": ")
        found.setdefault((what, item.value, item.basis), []).append(name_of(crew))
    units = {item.name.rpartition(": ")[2]: item.unit for item in window.inputs}
    return [
        (Input(what, value, units[what], basis), crews)
        for (what, value, basis), crews in found.items()
    ]
