"""The bench's resources: trials typed and taken in, what they say, a mix tried, checks judged."""

from __future__ import annotations

import base64
from typing import Any

import pytest
from starlette.testclient import TestClient

ROW = {"ratio": "1.0 %", "hardness": "250 mg/L", "age": "240 min", "coat": "0.1 in"}


def _keep(client: TestClient, *rows: dict[str, str], **more: Any) -> dict[str, Any]:
    answer = client.post("/api/trials", json={"rows": rows, **more})
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def _problems(client: TestClient, address: str, body: dict[str, Any]) -> dict[str, str]:
    answer = client.post(address, json=body)
    assert answer.status_code == 400, answer.text
    return {one["field"]: one["place"] for one in answer.json()["problems"]}


def test_typed_trial_is_kept_under_the_first_free_name(client: TestClient) -> None:
    """Two rows without names, and they are still there when asked for again."""
    assert _keep(client, ROW, ROW | {"ratio": "1.2 %"})["ids"] == ["bench 1", "bench 2"]
    trials = client.get("/api/trials").json()["trials"]
    assert [one["id"] for one in trials] == ["bench 1", "bench 2"]
    assert trials[0]["typed"]["ratio"] == "1 %"
    assert trials[0]["typed"]["coat"] == "0.1 in"


def test_bare_numbers_have_the_unit_beside_their_field(client: TestClient) -> None:
    """5 in a metric form is 5 mm; shown to a US reader it is 0.197 in."""
    bare = {"ratio": "1", "hardness": "120", "age": "20", "coat": "5"}
    _keep(client, bare, units="metric")
    (metric,) = client.get("/api/trials", params={"units": "metric"}).json()["trials"]
    (us,) = client.get("/api/trials", params={"units": "us"}).json()["trials"]
    assert (metric["typed"]["coat"], us["typed"]["coat"]) == ("5 mm", "0.1969 in")
    assert metric["typed"]["age"] == "20 min"


def test_same_name_takes_the_place_of_the_old(client: TestClient) -> None:
    """A corrected trial counts once; word for word the same is nothing new."""
    assert _keep(client, ROW | {"id": "wall"})["kept"] == 1
    assert _keep(client, ROW | {"id": "wall"})["kept"] == 0
    _keep(client, ROW | {"id": "wall", "coat": "0.2 in"})
    (one,) = client.get("/api/trials").json()["trials"]
    assert one["typed"]["coat"] == "0.2 in"


def test_every_fault_names_field_and_row_and_nothing_is_kept(client: TestClient) -> None:
    """Hardness below nothing, no age, an unknown field: each in its row."""
    bad = {"ratio": "1 %", "hardness": "-3 mg/L", "coat": "0.1 in"}
    found = _problems(client, "/api/trials", {"rows": [ROW, bad]})
    assert found == {"hardness": "row 2", "age": "row 2"}
    assert _problems(client, "/api/trials", {"rows": [ROW | {"colour": "red"}]}) == {
        "colour": "row 1"
    }
    assert _problems(client, "/api/trials", {"rows": []}) == {"rows": ""}
    assert client.get("/api/trials").json()["trials"] == []


def test_table_is_taken_in_whole_or_not_at_all(client: TestClient) -> None:
    """A CSV by its own columns; with a fault its row is named and none is kept."""
    table = "id,ratio (%),hardness (mg/L),age (min),coat (mm)\nt1,1,250,240,2.6\nt2,1.2,250,240,4\n"
    sent = {"name": "trials.csv", "content_base64": base64.b64encode(table.encode()).decode()}
    assert client.post("/api/trials/file", json=sent).json()["kept"] == 2
    bad = base64.b64encode(table.replace("1.2,", "much,").encode()).decode()
    answer = client.post("/api/trials/file", json=sent | {"content_base64": bad})
    assert "row 3" in answer.json()["problems"][0]["place"]
    assert _problems(client, "/api/trials/file", sent | {"content_base64": "%%"}) == {
        "content_base64": ""
    }


def test_fit_says_what_the_trials_say(client: TestClient) -> None:
    """Readings lie inside the band they made; the figure's table and sentences are there."""
    _keep(
        client,
        *(
            ROW | {"ratio": f"{r} %", "coat": f"{c} in"}
            for r, c in ((0.8, 0.06), (1.0, 0.1), (1.2, 0.16))
        ),
    )
    fit = client.get("/api/trials/fit", params={"coat": "1/8 in"}).json()
    water = next(one for one in fit["figure"]["waters"] if one["name"].startswith("250 mg/L"))
    assert len(water["seen"]) == 3
    for seen in water["seen"]:
        place = min(
            range(len(water["ratio_percent"])),
            key=lambda k: abs(water["ratio_percent"][k] - seen["ratio_percent"]),
        )
        assert 0.6 * water["low_pa"][place] < seen["yield_pa"] < 1.7 * water["high_pa"][place]
    assert fit["lowest"][0].startswith("in water of 250 mg/L")
    assert fit["rulings"][0]["is_accepted"] is False
    assert "3 readings of 3 trials" in fit["rests_on"][0]


def test_a_reading_far_off_is_flagged(client: TestClient) -> None:
    """Seven sound readings and one ten times too thick: that one is named."""
    sound = ((0.7, 1.2), (0.8, 1.6), (0.9, 2.1), (1.0, 2.6), (1.1, 3.2), (1.2, 3.8), (1.3, 4.4))
    rows = [ROW | {"id": f"t{r}", "ratio": f"{r} %", "coat": f"{c} mm"} for r, c in sound]
    _keep(client, *rows, ROW | {"id": "wild", "ratio": "1.0 %", "coat": "35 mm"})
    assert [one["id"] for one in client.get("/api/trials").json()["trials"] if one["is_odd"]] == [
        "wild"
    ]
    assert client.get("/api/trials/fit").json()["odd"][0].startswith("wild, coat kept")


def test_next_trial_comes_with_its_reason_before_any_trial(client: TestClient) -> None:
    """What to mix, how to read it and what to expect, in the reader's units."""
    for units, unit in (("us", " in"), ("metric", " mm")):
        best = client.get("/api/trials/next", params={"units": units}).json()["next"][0]
        assert unit in best["says"]
        assert "90 % band of the lowest working ratio" in best["reason"]


def test_mix_answers_what_the_sliders_ask(client: TestClient) -> None:
    """Leaner than the wall slides; bounds and units are told field by field."""
    first = client.get("/api/mix", params={"units": "metric"}).json()
    assert [one["name"] for one in first["sliders"]] == [
        "ratio",
        "hardness",
        "temperature",
        "coat",
        "tilt",
    ]
    thin = client.get("/api/mix", params={"ratio": "0.1 %", "coat": "6 mm"}).json()
    assert thin["verdict"].startswith("too thin")
    assert thin["figure"]["chosen_percent"] == pytest.approx(0.1)
    bad = client.get("/api/mix", params={"ratio": "90 %", "hardness": "soft"})
    assert {one["field"] for one in bad.json()["problems"]} == {"ratio", "hardness"}


CHECK = {"proportioner": "Teal", "method": "timed draw", "dial": "1.0", "seconds": "60"}


def test_checks_are_judged_by_hand(client: TestClient) -> None:
    """0.909 L a minute at 30 gpm (113.56 L/min) is 0.80 %: too lean for 0.9 to 1.3 %."""
    row = CHECK | {"drawn": "0.909", "mix_flow": "30"}
    body = {"rows": [row] * 3, "units": "us", "window": "0.9 % to 1.3 %", "wanted": "1 %"}
    (device,) = client.post("/api/proportioner", json=body).json()["devices"]
    assert "delivers 0.80 % by volume" in device["dials"][0]["says"]
    assert device["dials"][0]["rules"][0][0] == "mix window"
    assert device["dials"][0]["rules"][0][1].startswith("too lean")
    assert device["settings"][0].startswith("set 1.25 % to get 1.00 %")
    figure = device["figure"]
    assert figure["percent_of_set"] == pytest.approx([80.0] * 3, rel=0.01)
    told = [100 * float(one[3].split("+-")[1].removesuffix(" %")) for one in device["checks"]]
    above = [high - 80.0 for high in figure["high_percent_of_set"]]
    assert above == pytest.approx(told, abs=0.5)  # of the dial's 1 %, the table's "+-"
    below = [80.0 - low for low in figure["low_percent_of_set"]]
    assert below == pytest.approx(above, abs=0.5)


def test_faulty_check_names_its_field(client: TestClient) -> None:
    """A reading left out, a window the wrong way round."""
    assert _problems(client, "/api/proportioner", {"rows": [CHECK]})
    row = CHECK | {"drawn": "0.9", "mix_flow": "30"}
    found = _problems(client, "/api/proportioner", {"rows": [row], "window": "1.3 % to 0.9 %"})
    assert found == {"window": ""}
