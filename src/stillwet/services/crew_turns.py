"""What waits for what: passes of a coat, fresh coats, and assets that come after others.

A visit can follow one other only. So where something waits for work in several parts, those parts
are made one after the other, and what waits follows the last.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace

from stillwet.domain.assets import Asset
from stillwet.routing.problem import Visit
from stillwet.services.crew_parts import Cut

_Stages = dict[int, list[Visit]]


def in_turn(assets: Mapping[str, Asset], made: Sequence[tuple[Cut, Visit]]) -> tuple[Visit, ...]:
    """The visits, each told which it follows and by what gap.

    The second pass and a fresh coat start no sooner than the asset's ``coat_gap_s`` after the end
    of the pass before. An asset ``after`` another starts when the other's coat is done; the other's
    fresh coat is not waited for. Nothing is waited for that is not planned.
    """
    stages: dict[str, _Stages] = defaultdict(lambda: defaultdict(list))
    coat_ends: dict[str, int] = {}
    for cut, visit in made:
        stages[visit.asset_id][cut.stage].append(visit)
        if not cut.is_recoat:
            coat_ends[visit.asset_id] = max(cut.stage, coat_ends.get(visit.asset_id, 0))
    awaited = {assets[name].after for name in coat_ends}
    leaders = {name: stages[name][stage][-1] for name, stage in coat_ends.items()}
    told = {}
    for name, of_asset in stages.items():
        leader = leaders.get(assets[name].after or "") if name in coat_ends else None
        held = {*of_asset} - {max(of_asset)}
        held |= {coat_ends[name]} if name in awaited else set()
        for visit in _follow_on(of_asset, held, leader, assets[name].coat_gap_s):
            told[visit.id] = visit
    return tuple(told[visit.id] for _, visit in made)


def _follow_on(
    stages: _Stages, held: set[int], leader: Visit | None, gap_s: float
) -> Sequence[Visit]:
    """``held``: the stages that something waits for. The first stage follows ``leader``."""
    found: list[Visit] = []
    before, wait_s = leader, 0.0
    for stage, visits in sorted(stages.items()):
        for number, visit in enumerate(visits):
            if number > 0 and stage in held:
                told = replace(visit, after=visits[number - 1].id)
            elif before is not None:
                told = replace(visit, after=before.id, after_gap_s=wait_s)
            else:
                told = visit
            found.append(told)
        before, wait_s = visits[-1], gap_s
    return found
