"""What is still free: people, mixers, ovens, racks, ice and chilled water, while a day fills up.

Everything that is taken is written down, so that a try that does not work out can be undone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import partial

import numpy as np

from planner.scheduling.changeovers import clean_min, keeps_apart
from planner.scheduling.crews import crews_of
from planner.scheduling.grid import (
    Flags,
    Grid,
    Ints,
    Work,
    chamber_racks,
    free_runs,
    shut_slots,
)
from planner.scheduling.heat import least_between, may_differ
from planner.scheduling.preparation import Way
from planner.scheduling.problem import (
    BENCH,
    TUBS,
    VESSELS,
    WEIGHT,
    Job,
    Load,
    OvenChoice,
    Problem,
    Route,
    Store,
)

PLENTY = 10**9


@dataclass(frozen=True, slots=True)
class Held:
    """A mixer held from a slot up to another, for a job or (None) for a preparation."""

    first: int
    end: int
    job: Job | None


@dataclass
class Build:
    """A build of a preparation that has a place: start, mixer, who uses it, way, last use."""

    start: int
    mixer_id: str | None
    job_ids: list[str] = field(default_factory=list)
    way: int = 0
    last_use: int = 0


class Level:
    """A store by buckets; what a bucket makes can be used from the next bucket on.

    Notes
    -----
    With level l at the start of a bucket, u used and m made in it, the next bucket begins with
    at least min(room, l + m) - u, whatever the order inside the bucket: a store that stands
    full loses what is made until something is taken.
    """

    def __init__(self, store: Store, buckets: int, bucket_min: int) -> None:
        self.store, self.made = store, store.rate_g_per_h * bucket_min // 60
        self.used = np.zeros(buckets, dtype=np.int64)

    def levels(self) -> Ints:
        """Return the level at the start of every bucket [g]."""
        level = min(self.store.start_g, self.store.room_g)
        levels = np.zeros(len(self.used), dtype=np.int64)
        for k, used in enumerate(self.used):
            levels[k] = level
            level = min(self.store.room_g, level + self.made) - int(used)
        return levels

    def spare(self) -> Ints:
        """Return what each bucket could give on top without leaving a later one short [g]."""
        levels = self.levels()
        spare = np.zeros(len(self.used), dtype=np.int64)
        deficit = PLENTY
        for k in range(len(self.used) - 1, -1, -1):
            here = int(levels[k] - self.used[k])
            spare[k] = min(here, deficit)
            spilled = max(0, int(levels[k]) + self.made - self.store.room_g)
            deficit = min(here, deficit + spilled)
        return spare


def _kind_of(name: str) -> str:
    """Return the kind of resource that a counted thing is."""
    if name == BENCH:
        return "bench"
    kinds = {VESSELS: "vessels", TUBS: "tubs", WEIGHT: "weight"}
    return next((kind for word, kind in kinds.items() if name.startswith(word)), "racks")


def _give_back(used: Ints, bucket: int, grams: int) -> None:
    used[bucket] -= grams


def _take_back(free: Ints, slots: slice, count: int) -> None:
    free[slots] -= count


class Occupancy:
    """The state of a day that is being filled.

    Attributes
    ----------
    ignore
        Kinds of resources that are looked through, to find which of them stands in the way:
        ``people``, ``mixers``, ``ovens``, ``racks``, ``vessels``, ``bench``, ``tubs``, ``weight``,
        ``ice``, ``chilled water``, ``kettle``, ``gluten``.
    """

    def __init__(self, problem: Problem, ignore: frozenset[str] = frozenset()) -> None:
        grid = Grid(problem)
        self.problem, self.grid, self.ignore = problem, grid, ignore
        self.crews = crews_of(grid)
        tail = max((s.load.bake_min for s in problem.standing), default=0) + 2 * problem.bucket_min
        length = grid.slots + grid.up(
            tail + max((o.recovery_min for o in problem.ovens), default=0)
        )
        length += max((grid.up(load.bake_min) for j in problem.jobs for load in j.loads), default=0)
        longest = [c.hold_min or 0 for s in problem.standing for c in s.load.ovens]
        longest += [c.hold_min or 0 for j in problem.jobs for ld in j.loads for c in ld.ovens]
        length += grid.up(max(longest, default=0))
        self.baked: dict[str, list[tuple[int, Load]]] = {o.oven_id: [] for o in problem.ovens}
        self.ovens = {o.oven_id: np.full(length, o.places) for o in problem.ovens}
        self.recovery = {o.oven_id: o for o in problem.ovens}
        self.racks = {p: np.full(grid.slots, n) for p, n in chamber_racks(problem).items()}
        self.shut = shut_slots(grid)
        self.mixers: dict[str, list[Held]] = {}
        self.first: dict[str, int] = {}
        self.ice = Level(problem.ice, grid.buckets, problem.bucket_min)
        self.chilled = Level(problem.chiller, grid.buckets, problem.bucket_min)
        kettle = problem.kettle or Store(PLENTY, 0, PLENTY)
        self.kettle = Level(kettle, grid.buckets, problem.bucket_min)
        self.builds: dict[str, list[Build]] = {}
        self.handled: dict[str, list[Held]] = {}
        self._undo: list[Callable[[], object]] = []
        for kind, arrays in self._counted().items():
            if kind in ignore:
                for array in arrays:
                    array[:] = PLENTY

    def _counted(self) -> dict[str, list[Ints]]:
        counted: dict[str, list[Ints]] = {
            "people": [crew.people for crew in self.crews],
            "ovens": list(self.ovens.values()),
        }
        for name, free in self.racks.items():
            counted.setdefault(_kind_of(name), []).append(free)
        return counted

    def mark(self) -> int:
        """Return a mark to go back to."""
        return len(self._undo)

    def back_to(self, mark: int) -> None:
        """Undo everything since a mark."""
        while len(self._undo) > mark:
            self._undo.pop()()

    def _take(self, free: Ints, first: int, end: int, count: int) -> bool:
        """Take some of a counted resource if there is enough throughout."""
        if count == 0 or first >= end:
            return True
        if first < 0 or end > len(free) or bool((free[first:end] < count).any()):
            return False
        free[first:end] -= count
        self._undo.append(lambda: free.__setitem__(slice(first, end), free[first:end] + count))
        return True

    def take_people(self, works: Iterable[Work]) -> bool:
        """Take people who can do it for each stretch of work."""
        return all(
            self._take(crew.people, work.first, work.end, work.people)
            for work in works
            for crew in self.crews
            if work.skill in crew.skills
        )

    def give_people(self, works: Iterable[Work]) -> None:
        """Give back people who were taken for some work."""
        for work in works:
            for crew in self.crews:
                if work.skill in crew.skills and work.first < work.end:
                    slots, people = slice(work.first, work.end), work.people
                    crew.people[slots] += people
                    self._undo.append(partial(_take_back, crew.people, slots, people))

    def take_rest(self, person_id: str, first: int, end: int) -> bool:
        """Take somebody away from work for a while."""
        return all(
            self._take(crew.people, first, end, 1)
            for crew in self.crews
            if person_id in crew.person_ids
        )

    def take_oven(self, load: Load, choice: OvenChoice, first: int) -> bool:
        """Take places of an oven for a load, recovery included, if its heat is as it should be."""
        if not self._heat_free(load, choice)[first]:
            return False
        baked, slots = self.baked[choice.oven_id], self._oven_slots(load, choice)
        if not self._take(self.ovens[choice.oven_id], first, first + slots, choice.places):
            return False
        baked.append((first, load))
        self._undo.append(baked.pop)
        return True

    def _oven_slots(self, load: Load, choice: OvenChoice) -> int:
        return self.grid.oven_slots(load, self.recovery[choice.oven_id])

    def _heat_free(self, load: Load, choice: OvenChoice) -> Flags:
        """Return the slots of loading at which an oven's heat suits a load, between others."""
        grid, oven = self.grid, self.recovery[choice.oven_id]
        suits = np.ones(grid.slots, dtype=bool)
        if "ovens" in self.ignore:
            return suits
        first, last = grid.hot_slots(choice)
        suits[:first] = False
        suits[last + 1 :] = False
        for at, other in self.baked[choice.oven_id] if may_differ(oven) else ():
            after, before = least_between(oven, other, load), least_between(oven, load, other)
            if after is not None and before is not None:
                suits[max(0, at - grid.up(before) + 1) : at + grid.up(after)] = False
        return suits

    def take_racks(self, route: Route, first: int, end: int) -> bool:
        """Take racks of the chambers on a way; a room has none to count."""
        return self.take_all(route.takes, first, end)

    def take_all(self, takes: Iterable[tuple[str, int]], first: int, end: int) -> bool:
        """Take several counted things for the same time."""
        return all(self.take_places(name, first, end, count) for name, count in takes)

    def take_places(self, name: str, first: int, end: int, count: int) -> bool:
        """Take racks of a chamber or vessels of a kind; what is not counted is there."""
        return name not in self.racks or self._take(self.racks[name], first, end, count)

    def take_mixer(self, mixer_id: str, held: Held) -> bool:
        """Take a mixer for a mix or a preparation, cleaning included."""
        runs = self.mixer_free(mixer_id, held.job, held.end - held.first)
        if not 0 <= held.first < len(runs) or not runs[held.first]:
            return False
        self.hold_mixer(mixer_id, held)
        return True

    def hold_mixer(self, mixer_id: str, held: Held) -> None:
        """Take a mixer without asking, for what is known to have it."""
        taken = self.mixers.setdefault(mixer_id, [])
        taken.append(held)
        self._undo.append(taken.pop)

    def take_water(self, bucket: int, ice_g: int, chilled_g: int, *, known: bool = False) -> bool:
        """Take ice and chilled water in a bucket; what is known to have them is not asked."""
        for kind, level, grams in (
            ("ice", self.ice, ice_g),
            ("chilled water", self.chilled, chilled_g),
        ):
            if grams == 0 or kind in self.ignore:
                continue
            if not known and level.spare()[bucket] < grams:
                return False
            level.used[bucket] += grams
            self._undo.append(partial(_give_back, level.used, bucket, grams))
        return True

    def take_hot(self, bucket: int, grams: int) -> bool:
        """Take boiling water in a bucket."""
        if grams == 0 or self.problem.kettle is None or "kettle" in self.ignore:
            return True
        if self.kettle.spare()[bucket] < grams:
            return False
        self.kettle.used[bucket] += grams
        self._undo.append(partial(_give_back, self.kettle.used, bucket, grams))
        return True

    def hold_first(self, mixer_id: str, start: int) -> None:
        """Keep the mixer for one job before all others."""
        self.first[mixer_id] = start
        self._undo.append(lambda: self.first.pop(mixer_id))

    def add_build(self, preparation_id: str, build: Build) -> None:
        """Add a build of a preparation."""
        builds = self.builds.setdefault(preparation_id, [])
        builds.append(build)
        self._undo.append(builds.pop)

    def use_build(self, build: Build, job_id: str, way: Way, minute: int) -> bool:
        """Let a job draw on a build at a minute; its racks are kept until then."""
        step, was = self.grid.step, build.last_use
        if minute > was:
            first, end = -(-was // step), -(-minute // step)
            if not all(self.take_places(name, first, end, n) for name, n in way.holds):
                return False
        build.last_use = max(was, minute)
        self._undo.append(lambda: setattr(build, "last_use", was))
        build.job_ids.append(job_id)
        self._undo.append(build.job_ids.pop)
        return True

    def mixer_free(self, mixer_id: str, job: Job | None, length: int) -> Flags:
        """Return the slots at which a mixer is free for `length` slots, cleaning included."""
        free = np.ones(self.grid.slots, dtype=bool)
        if "mixers" not in self.ignore:
            if mixer_id in self.shut and not (job is not None and job.held):
                free &= ~self.shut[mixer_id]
            for held in self.mixers.get(mixer_id, ()):
                before = self._clean_slots(mixer_id, job, held.job)
                after = self._clean_slots(mixer_id, held.job, job)
                free[max(0, held.first - before) : held.end + after] = False
        return free_runs(free, length)

    def _clean_slots(self, mixer_id: str, before: Job | None, after: Job | None) -> int:
        """Return the slots of cleaning between two jobs; none beside a preparation."""
        if before is None or after is None:
            return 0
        return self.grid.up(clean_min(self.problem, mixer_id, before, after))

    def handle(self, mixer_id: str, held: Held) -> None:
        """Note that a dough is handled in the room of its mixer, from scaling to the divide."""
        there = self.handled.setdefault(self.problem.mixer_room.get(mixer_id, ""), [])
        there.append(held)
        self._undo.append(there.pop)

    def kept_apart(self, mixer_id: str, job: Job) -> tuple[int, int]:
        """Return from which slot a job may be handled in a mixer's room, and until which.

        Gluten comes into a room only when what must be free of it is out of the way.
        """
        low, high = 0, self.grid.slots
        if "gluten" not in self.ignore:
            for held in self.handled.get(self.problem.mixer_room.get(mixer_id, ""), ()):
                if held.job is not None and keeps_apart(held.job, job):
                    low = max(low, held.end)
                if held.job is not None and keeps_apart(job, held.job):
                    high = min(high, held.first)
        return low, high

    def people_free(self, slots: int, skill: str, people: int = 1) -> Flags:
        """Return the slots from which people who can do some work are free for so long."""
        free = np.ones(self.grid.slots, dtype=bool)
        for crew in self.crews:
            if skill in crew.skills:
                free &= free_runs(crew.people >= people, slots)
        return free

    def rest_free(self, person_id: str, slots: int) -> Flags:
        """Return the slots from which somebody can be spared for so long."""
        free = np.ones(self.grid.slots, dtype=bool)
        for crew in self.crews:
            if person_id in crew.person_ids:
                free &= free_runs(crew.people > 0, slots)
        return free

    def oven_free(self, load: Load, choice: OvenChoice) -> Flags:
        """Return the slots of the span from which an oven takes a load."""
        free = self.ovens[choice.oven_id] >= choice.places
        places = free_runs(free, self._oven_slots(load, choice))[: self.grid.slots]
        return places & self._heat_free(load, choice)

    def oven_runs(self, oven_id: str, load: Load) -> Flags:
        """Return the slots from which an oven bakes a load through without being out of order."""
        shut = self.shut.get(oven_id)
        if shut is None or load.held or "ovens" in self.ignore:
            return np.ones(self.grid.slots, dtype=bool)
        return free_runs(~shut, self.grid.bake_slots(load))

    def racks_until(self, route: Route) -> Ints:
        """Return for each slot the first slot from it on at which a chamber has no rack left."""
        return self.free_until(route.takes)

    def free_until(self, takes: Iterable[tuple[str, int]]) -> Ints:
        """Return for each slot the first slot from it on at which something of it is short."""
        slots = self.grid.slots
        short = np.zeros(slots, dtype=bool)
        for name, count in takes:
            if name in self.racks:
                short |= self.racks[name][:slots] < count
        blocked = np.where(short, np.arange(slots), slots)
        return np.minimum.accumulate(blocked[::-1])[::-1]

    def spare_water(self) -> tuple[Ints, Ints]:
        """Return the ice and the chilled water each bucket could still give [g]."""
        plenty = np.full(self.grid.buckets, PLENTY, dtype=np.int64)
        return (
            plenty if "ice" in self.ignore else self.ice.spare(),
            plenty if "chilled water" in self.ignore else self.chilled.spare(),
        )
