"""What an entry of the field log may tell, kind by kind: the words, their units, how each is read.

One table serves the command line, the web's forms, device-to-device JSON and the printed log: a
value is given under its word with any unit ("coat": "1/8 in") or under its SI name as a number
("coat_kg_m2": 3.2).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from stillwet.domain.log import Fate, Feel
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.findings import nearest_hint
from stillwet.units import read_quantity


@dataclass(frozen=True, slots=True)
class Places:
    """The names a job knows: faces and names of assets by id, crews, segments ("line/segment")."""

    faces: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    names: Mapping[str, str] = field(default_factory=dict)
    crews: tuple[str, ...] = ()
    segments: tuple[str, ...] = ()

    def asset(self, text: str, name: str, place: str) -> str:
        """The id of the asset with this id or name."""
        wanted = text.strip().casefold()
        found = [id_ for id_ in self.faces if wanted in (id_.casefold(), self._name(id_))]
        if text.strip() in self.faces:
            return text.strip()
        if len(found) == 1:
            return found[0]
        known = [*self.faces, *self.names.values()]
        wants = f"an asset of the job: {_some(list(self.faces))}"
        raise StillwetError(Problem(name, wants, shown(text), place, nearest_hint(text, known)))

    def face_ids(self, text: str, name: str, place: str) -> tuple[str, ...]:
        """The face with this id, or all faces of the asset with this id or name."""
        every = [face for faces in self.faces.values() for face in faces]
        if text in every:
            return (text,)
        owner, slash, _ = text.partition("/")
        if slash and owner in self.faces:
            wants = f"a face of {owner}: {_some(list(self.faces[owner]))}"
            hint = nearest_hint(text, self.faces[owner])
            raise StillwetError(Problem(name, wants, shown(text), place, hint))
        if slash:
            wants = f"a face of the job: {_some(every)}"
            raise StillwetError(Problem(name, wants, shown(text), place, nearest_hint(text, every)))
        return self.faces[self.asset(text, name, place)]

    def crew(self, text: str, name: str, place: str) -> str:
        """The id of a crew of the job."""
        if text not in self.crews:
            wants = f"a crew of the job: {_some(list(self.crews))}"
            hint = nearest_hint(text, self.crews)
            raise StillwetError(Problem(name, wants, shown(text), place, hint))
        return text

    def segment(self, text: str, name: str, place: str) -> str:
        """The whole id of a segment of the job's lines, by it or by its own part alone."""
        wanted = text.strip()
        found = [one for one in self.segments if wanted in (one, one.partition("/")[2])]
        if len(found) != 1:
            wants = f"a segment of the job's lines: {_some(list(self.segments))}"
            hint = nearest_hint(text, self.segments)
            raise StillwetError(Problem(name, wants, shown(text), place, hint))
        return found[0]

    def _name(self, id_: str) -> str:
        return self.names.get(id_, "").strip().casefold()


def _some(names: list[str], most: int = 8) -> str:
    rest = len(names) - most
    return ", ".join(names[:most]) + (f" and {rest} more" if rest > 0 else "") or "it has none"


Read = Callable[[object, str, str, "Places | None"], object]


@dataclass(frozen=True, slots=True)
class Told:
    """One thing an entry tells: its word, the record's field, how it is read, an example."""

    word: str
    attribute: str
    read: Read
    example: str
    is_number: bool = False
    unit: str = ""  # SI, as reports know it

    @property
    def names(self) -> tuple[str, ...]:
        """The names a value may come under."""
        return tuple(dict.fromkeys((self.word, self.attribute)))

    @property
    def gives(self) -> dict[str, object]:
        """JSON Schema of the value as it is told again: SI numbers, texts, flags."""
        if self.is_number:
            return {"type": ["number", "null"]}
        if self.read is _faces:
            return {"type": "array", "items": {"type": "string"}}
        return {"type": "boolean"} if self.read is _flag else {"type": ["string", "null"]}


def text_of(raw: object, name: str, place: str) -> str:
    """A text, as it is."""
    if not isinstance(raw, str):
        raise StillwetError(Problem(name, "a text", shown(raw), place))
    return raw


def _text(raw: object, name: str, place: str, _places: Places | None) -> str:
    return text_of(raw, name, place)


def _words(raw: object, name: str, place: str) -> list[str]:
    if isinstance(raw, list):
        return [text_of(each, name, place) for each in raw]
    return [part.strip() for part in text_of(raw, name, place).split(",") if part.strip()]


def _faces(raw: object, name: str, place: str, places: Places | None) -> tuple[str, ...]:
    words = _words(raw, name, place)
    if places is None:
        return tuple(words)
    found = [face for word in words for face in places.face_ids(word, name, place)]
    return tuple(dict.fromkeys(found))


def _face(raw: object, name: str, place: str, places: Places | None) -> str:
    found = _faces([text_of(raw, name, place)], name, place, places)
    if len(found) != 1:
        raise StillwetError(Problem(name, f"one face: {_some(list(found))}", shown(raw), place))
    return found[0]


def _asset(raw: object, name: str, place: str, places: Places | None) -> str:
    text = text_of(raw, name, place)
    return text if places is None else places.asset(text, name, place)


def _crew(raw: object, name: str, place: str, places: Places | None) -> str:
    text = text_of(raw, name, place)
    return text if places is None or not text else places.crew(text, name, place)


def _segment(raw: object, name: str, place: str, places: Places | None) -> str:
    text = text_of(raw, name, place)
    return text if places is None else places.segment(text, name, place)


def _flag(raw: object, name: str, place: str, _places: Places | None) -> bool:
    words = {"yes": True, "true": True, "no": False, "false": False}
    found = raw if isinstance(raw, bool) else words.get(str(raw).strip().casefold())
    if found is None:
        raise StillwetError(Problem(name, "yes or no", shown(raw), place))
    return found


def _one_of(kind: type[StrEnum]) -> Read:
    def read(raw: object, name: str, place: str, _places: Places | None) -> object:
        text = text_of(raw, name, place).strip().casefold()
        known = [str(word) for word in kind]
        if text not in known:
            hint = nearest_hint(text, known)
            raise StillwetError(Problem(name, ", ".join(known), shown(raw), place, hint))
        return kind(text)

    return read


def _number(dimension: str, si: str) -> Read:
    def read(raw: object, name: str, place: str, _places: Places | None) -> object:
        # A bare number has its unit from the SI name it came under, never from the plain word.
        is_si = name.rsplit(".", 1)[-1] in _SI_NAMES
        unit = si if is_si else None
        return read_quantity(raw, dimension=dimension, field=name, place=place, unit=unit)

    return read


def _amount(word: str, dimension: str, si: str, attribute: str, example: str, unit: str) -> Told:
    return Told(word, attribute, _number(dimension, si), example, is_number=True, unit=unit)


def _volume(word: str, example: str) -> Told:
    return _amount(word, "volume", "m3", f"{word}_m3", example, "m3")


WEATHER = (
    _amount("temperature", "temperature", "k", "air_temperature_k", "88 F", "K"),
    _amount("humidity", "fraction", "fraction", "relative_humidity", "22 %", "fraction"),
    _amount("wind", "speed", "m/s", "wind_speed_m_s", "8 mph", "m/s"),
    _amount("wind_from", "angle", "deg", "wind_from_deg", "225 deg", "deg"),
    Told("rain", "rain", _flag, "no"),
)
_SEGMENT = Told("segment", "segment_id", _segment, "l1/s1")
_UP_TO = _amount("up_to", "length", "m", "up_to_m", "200 ft", "m")
TELLS: dict[str, tuple[Told, ...]] = {
    "coat": (
        Told("faces", "surface_ids", _faces, "a1/north-wall, a2"),
        Told("crew", "crew_id", _crew, "c1"),
        _amount("ratio", "fraction", "fraction", "ratio", "1.5 %", "fraction"),
        _amount("coat", "water_depth", "kg/m2", "coat_kg_m2", "1/8 in", "kg/m2"),
        _volume("mix", "55 gal"),
    ),
    "check": (
        Told("face", "surface_id", _face, "a1/north-wall"),
        Told("feel", "feel", _one_of(Feel), "tacky"),
        _amount("weighed", "water_depth", "kg/m2", "weighed_kg_m2", "2.1 mm", "kg/m2"),
        Told("coupon", "coupon", _text, "k1"),
        Told("photo", "photo", _text, "north.jpg"),
    ),
    "weather": WEATHER,
    "ignition": (Told("place", "place", _text, "east end of the road line"),),
    "wetted": (
        _SEGMENT,
        _UP_TO,
        Told("crew", "crew_id", _crew, "c1"),
        _amount("coverage", "water_depth", "kg/m2", "coverage_kg_m2", "1.5 mm", "kg/m2"),
        _volume("mix", "120 gal"),
    ),
    "lit": (_SEGMENT, _UP_TO),
    "fire": (Told("asset", "asset_id", _asset, "a1"),),
    "outcome": (
        Told("asset", "asset_id", _asset, "a1"),
        Told("fate", "fate", _one_of(Fate), "unharmed"),
    ),
    "stock": (
        Told("crew", "crew_id", _crew, "c1"),
        _volume("water_taken", "500 gal"),
        _volume("water_left", "120 gal"),
        _volume("concentrate_taken", "10 gal"),
        _volume("concentrate_left", "3 gal"),
    ),
    "spill": (
        Told("substance", "substance", _text, "concentrate"),
        Told("place", "place", _text, "ditch by the gate"),
        _volume("amount", "2 gal"),
        Told("reached_water", "reached_water", _flag, "no"),
    ),
    "washed": (Told("faces", "surface_ids", _faces, "a1"),),
    "withdrawn": (),
}
_SI_NAMES = frozenset(told.attribute for tells in TELLS.values() for told in tells) - {"ratio"}
