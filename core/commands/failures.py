"""`wetside failures FILE`: who goes cold, and how far, when a part or the power fails, or in a cold snap."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from core import units
from core.commands.answering import Progress, columns, print_json, wrapped
from core.commands.arguments import Arguments
from core.errors import escaped
from core.files import read

if TYPE_CHECKING:
    from core.plant.model import Plant
    from core.questions.failures import ColdRoom, Failure

CAUTIONS = (
    "No pipe here is promised safe: pipes in outside walls, in corners and over cold spaces freeze before "
    "their room does, and wind and open doors are not counted.",
    "Call a licensed heating contractor at the first cold room; at a smell of gas leave the building first "
    "and call the gas utility or the fire department from outside.",
    "This page tells nothing about how to restart anything: that is for who is licensed for it. Local code "
    "and the authority having jurisdiction decide.",
)
"""Stand under every answer, in the window too."""


def run(argv: list[str]) -> int:
    """Solve every failure of the file in `argv`; refusals are raised, the caller shows them."""
    parser = Arguments(
        "wetside failures",
        description="Each heater and circulator, the power, a cold snap: who goes cold, how far, how soon.",
        allow_abbrev=False,
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument("--json", action="store_true", help="SI figures as JSON")
    given = parser.parse_args(argv)
    plant = read.load(given.file)
    from core.questions.failures import failures

    progress = Progress("failures")
    found = failures(plant, on_progress=progress)
    progress.done()
    if given.json:
        print_json({"failures": [one.as_data() for one in found], "cautions": list(CAUTIONS)})
    else:
        print("\n".join(text(plant, found)))
    return 0 if all(one.solved for one in found) and not any(one.dangers for one in found) else 1


HEAD = ("fails", "room", "now", "comes to", "at 40 °F after")


def text(plant: Plant, found: Sequence[Failure], tables: bool = True) -> Iterator[str]:
    """The answer in plain words; without `tables` where these stand elsewhere."""
    from core.questions.failures import worst_first

    case = found[0].case if found else ""
    yield escaped(f"{plant.title or 'untitled'} · what if it fails · {case}")
    yield ""
    told = [one for one in worst_first(found) if one.cold]
    if not told:
        yield "No room gets colder, or no room's heat loss is known."
    elif tables:
        yield from columns([HEAD, *(row(plant, one, room) for one in told for room in one.cold)])
    for one in found:
        yield from _others(plant, one)
    harmless = [one.at for one in found if one.solved and not _worse(one) and one.at in plant.items]
    if harmless:
        yield ""
        yield from wrapped(f"Nobody gets less in this case without: {', '.join(harmless)}.")
    yield ""
    if unknown := unknown_rooms(plant):
        yield from wrapped(f"Nothing is said about {', '.join(unknown)}: no heat loss is known there.")
    if any(room.guess for one in found for room in one.cold):
        yield "~ rests on a guess: the room's mass, heat loss or gain."
    if any(not room.has_mass for one in found for room in one.cold):
        yield "A room without a mass has no hours: type how much heat its walls and air store per degree."
    for caution in CAUTIONS:
        yield from wrapped(f"caution: {caution}")


def _worse(one: Failure) -> bool:
    return bool(one.cold or one.circuits or one.taps or one.dangers)


def unknown_rooms(plant: Plant) -> list[str]:
    """Rooms whose heat loss is not known: nothing can be said about how cold they get."""
    from core.thermal.rooms import known_losses
    from core.vocabulary import Trait

    losses = known_losses(plant)
    return [room.id for room in plant.with_trait(Trait.ROOM) if room.id not in losses]


def _name(at: str) -> str:
    return {"power": "power", "cold_snap": "cold snap"}.get(at, at)


def row(plant: Plant, one: Failure, room: ColdRoom) -> tuple[str, ...]:
    """What fails, a room, its temperature then and before, and how soon it stands at 40 °F."""

    def warm(celsius: float) -> str:
        return units.show(celsius + 273.15, "temperature", plant.units)

    if room.hours_to_40f is not None:
        after = f"{'~' if room.guess else ''}{room.hours_to_40f:.1f} h"
    else:
        after = "does not get there" if room.has_mass or room.temperature_c > 4.45 else "mass not set"
    return _name(one.at), room.room, warm(room.before_c), warm(room.temperature_c), after


def lesser_rows(plant: Plant, one: Failure) -> list[tuple[str, ...]]:
    """What fails, a circuit or tap that gets less, and what it gets then and before."""
    shown = [
        (fall.at, *(units.show(value, "power", plant.units) for value in (fall.before, fall.after)))
        for fall in one.circuits
    ]
    shown += [
        (fall.at, *(units.show(c + 273.15, "temperature", plant.units) for c in (fall.before, fall.after)))
        for fall in one.taps
    ]
    return [(_name(one.at), *cells, "") for cells in shown]


def _others(plant: Plant, one: Failure) -> Iterator[str]:
    if not one.solved:
        yield ""
        yield from wrapped(f"{_name(one.at)}: not solved; nothing is said about it.")
        return
    parts = [f"{at} {before} to {after}" for _, at, before, after, _ in lesser_rows(plant, one)]
    if parts:
        yield ""
        when = "In a cold snap" if one.at == "cold_snap" else f"Without {_name(one.at)}"
        yield from wrapped(f"{when}: {', '.join(parts)}.")
    for note in one.dangers:
        yield from wrapped(f"{_name(one.at)}: {note.at}: {note.text}")
