"""What stands out, what does not, and the words for both."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from sternwatch.debrief.counting.factors import Factor, Value
from sternwatch.debrief.counting.producing import Producing, producing
from sternwatch.debrief.counting.tally import Tally, hit_values, tally
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.store.samples import BoatRow, HitRow, Rig, RodRow, Sample

US = SYSTEMS["us"]
MakeHits = Callable[..., list[HitRow]]


def with_hits(base: Tally, hits: list[HitRow]) -> Tally:
    """The day's hours, counted once, with these hits."""
    counted = copy.deepcopy(base)
    for hit in hits:
        assert hit.rod_row is not None
        for factor, at in hit_values(hit, 0).items():
            counted.add(Factor(factor), at, hit.rod_row.rig, hits=1)
    return counted


@pytest.fixture(scope="module")
def hours(day: list[Sample]) -> Tally:
    return tally(day, [])


class TestShuffles:
    def test_eight_hits_on_each_of_two_equal_rods_are_found(self, hours: Tally, make_hits: MakeHits) -> None:
        others = {0: 1, 3: 1, 4: 1, 5: 1}
        for seed in range(50):
            hits = make_hits(np.random.default_rng(seed), {1: 8, 6: 8, **others})
            said = producing(with_hits(hours, hits), US)
            found = {c.value.word for c in said.comparisons if c.found and c.better and c.value.factor is Factor.ROD}
            assert found == {"2 P HIGH", "7 S HIGH"}, f"seed {seed}"
            assert said.findings[0].rods == ("2", "7")

    def test_two_rods_that_have_nothing_in_common_are_found_too(self, hours: Tally, make_hits: MakeHits) -> None:
        for seed in range(50):
            hits = make_hits(np.random.default_rng(seed), {2: 8, 4: 8, 0: 1, 1: 1, 5: 1, 7: 1})
            said = producing(with_hits(hours, hits), US)
            found = {c.value.word for c in said.comparisons if c.found and c.better and c.value.factor is Factor.ROD}
            assert found == {"3 P LOW", "5 S DOWN"}, f"seed {seed}"

    @pytest.mark.parametrize("shuffles", [200, pytest.param(1000, marks=pytest.mark.campaign)])
    def test_random_hits_show_nothing_in_nine_shuffles_of_ten(
        self, day: list[Sample], hours: Tally, shuffles: int
    ) -> None:
        random = np.random.default_rng(2026)
        quiet = 0
        for _ in range(shuffles):
            hits = []
            for n, flat in enumerate(random.integers(len(day) * 8, size=20)):
                sample = day[int(flat) // 8]
                row = sample.rods[int(flat) % 8]
                hits.append(HitRow(str(n), row.rig.rod, 0.0, 0, True, True, boat=sample.boat, rod_row=row))
            quiet += not producing(with_hits(hours, hits), US).findings
        assert quiet >= 0.9 * shuffles


class TestGroups:
    """Seven rods: 1 and 7 high divers, 2 and 6 low ones, the rest something else."""

    LEVELS = ("high diver", "low diver", "", "", "", "low diver", "high diver")

    def said(self, *hits_of: int, levels: tuple[str, ...] = LEVELS) -> Producing:
        sides = ("port", "port", "port", "centre", "starboard", "starboard", "starboard")
        rigs = [Rig(str(n + 1), f"ROD{n + 1}", sides[n], level=levels[n], lure=f"spoon {n}") for n in range(7)]
        samples = [Sample(BoatRow(10.0 * i), tuple(RodRow(rig) for rig in rigs)) for i in range(720)]
        hits = [
            HitRow(f"{n}.{k}", rigs[n].rod, 0.0, 0, True, True, boat=samples[0].boat, rod_row=RodRow(rigs[n]))
            for n, count in enumerate(hits_of)
            for k in range(count)
        ]
        return producing(tally(samples, hits), US)

    def test_high_divers_are_held_against_all_other_rods_and_against_low_divers(self) -> None:
        said = self.said(5, 1, 1, 0, 0, 1, 4)
        p, like = (stats.binomtest(9, of, share).pvalue for of, share in ((12, 2 / 7), (11, 0.5)))
        assert said.findings[0].p == pytest.approx(p)
        assert said.lines[0] == (
            "1 and 7 (high divers): 9 of 12 hits in 29 % of the rod time; by luck, that happens about 1 time in 900"
            "; against low divers alone 9 of 11 in 50 %, by luck about 1 time in 15"
        )
        assert 1 / like == pytest.approx(15, abs=1)

    def test_two_rods_with_nothing_in_common_are_a_group(self) -> None:
        levels = ("",) * 7
        said = self.said(6, 1, 1, 0, 1, 5, 1, levels=levels)
        assert [f.rods for f in said.findings] == [("1", "6")]
        assert said.lines[0].startswith("1 and 6: 11 of 15 hits in 29 % of the rod time")

    def test_one_rod_alone_makes_no_pair(self) -> None:
        said = self.said(14, 1, 1, 0, 0, 1, 0, levels=("",) * 7)
        assert said.findings[0].rods in {("1",), ("1", "2", "3")}  # or the side that it is on
        assert not any(c.value.factor is Factor.PAIR for c in said.comparisons)

    def test_a_side_is_a_group(self) -> None:
        said = self.said(6, 6, 6, 0, 1, 1, 1, levels=("",) * 7)
        assert ("1", "2", "3") in [f.rods for f in said.findings]


class TestWords:
    def test_the_trades_own_sentence(self) -> None:
        """Nine of twelve hits on two of seven equal rods: 2/7 of the time, and a tail of 1 in 871."""
        rigs = [Rig(str(n + 1), f"ROD{n + 1}", lure="fly" if n in (0, 6) else f"spoon {n}") for n in range(7)]
        samples = [Sample(BoatRow(10.0 * i), tuple(RodRow(rig) for rig in rigs)) for i in range(360)]
        hits = [
            HitRow(str(n), rigs[k].rod, 0.0, 0, True, True, boat=samples[0].boat, rod_row=RodRow(rigs[k]))
            for n, k in enumerate([0] * 5 + [6] * 4 + [1, 2, 3])
        ]
        p = stats.binomtest(9, 12, 2 / 7).pvalue
        assert 1 / p == pytest.approx(871, abs=1)
        said = producing(tally(samples, hits), US)
        assert said.findings[0].p == pytest.approx(p)
        assert said.lines[0] == (
            "1 and 7 (lure fly): 9 of 12 hits in 29 % of the rod time; by luck, that happens about 1 time in 900"
        )

    def test_a_depth_is_found_and_said_in_the_crews_units(self, day: list[Sample]) -> None:
        deep = [(s, r) for s in day for r in s.rods if r.depth_m is not None and 24.384 <= r.depth_m < 30.48]
        hits = [
            HitRow(str(n), r.rig.rod, 0.0, 0, True, True, boat=s.boat, rod_row=r)
            for n, (s, r) in enumerate(deep[:: len(deep) // 18][:18])
        ]
        us, metric = (producing(tally(day, hits), SYSTEMS[name]).lines for name in ("us", "metric"))
        assert any(line.startswith("80–100 ft down: 18 of 18 hits") for line in us)
        assert any(line.startswith("24–30 m down: 18 of 18 hits") for line in metric)

    def test_what_does_not_catch_is_said_after_what_does(self, hours: Tally, make_hits: MakeHits) -> None:
        hits = make_hits(np.random.default_rng(3), {1: 20, 2: 12, 5: 12, 6: 11, 0: 12, 3: 11, 4: 12})
        said = producing(with_hits(hours, hits), US)
        better = [finding.better for finding in said.findings]
        assert better == sorted(better, reverse=True)
        nothing = "8 S BOARD: none of 90 hits in 12 % of the rod time; by luck, that happens "
        assert [f.better for f in said.findings if f.text.startswith(nothing)] == [False]

    def test_not_enough_to_tell_and_how_many_hours_would(self, hours: Tally, make_hits: MakeHits) -> None:
        said = producing(with_hits(hours, make_hits(np.random.default_rng(5), {1: 2, 6: 1, 0: 1, 4: 1})), US)
        assert not said.findings
        assert said.undecided.startswith("Not enough to tell: 5 hits in 40 rod-hours. Best so far: ")
        assert re.search(r"\. At this rate about \d+ rod-hours more would tell$", said.undecided)

    def test_the_rest_of_what_catches_is_not_said_again(self, hours: Tally, make_hits: MakeHits) -> None:
        hits = make_hits(np.random.default_rng(3), {1: 30, 2: 30, 5: 30, 6: 30, 0: 2, 3: 1, 4: 1})
        texts = [finding.text for finding in producing(with_hits(hours, hits), US).findings]
        assert texts[0].startswith("2, 3, 6 and 7 (lure fly): 120 of 124 hits in 50 % of the rod time")
        assert not any(text.startswith("1, 4, 5 and 8") for text in texts)

    def test_no_hits_and_no_hours(self, hours: Tally) -> None:
        assert producing(hours, US).lines == ("No hits in 40 rod-hours: nothing to tell yet",)
        assert producing(Tally(), US).lines == ("No fishing time recorded yet",)


class TestCounting:
    def test_every_hit_has_its_hours_under_it(self, day: list[Sample], make_hits: MakeHits) -> None:
        hits = make_hits(np.random.default_rng(1), {1: 2, 3: 1})
        counted = tally(day, hits)
        assert counted.total.hits == 3
        assert counted.total.seconds == 8 * 18_000
        assert counted.of(Value(Factor.ROD, word="2 P HIGH")).hits == 2
        for factor in Factor:
            assert sum(c.hits for _, c in counted.values(factor)) in (0, 2, 3)

    def test_false_releases_doubts_and_hits_in_holes_are_left_out(
        self, day: list[Sample], make_hits: MakeHits
    ) -> None:
        good, no_fish, hole = make_hits(np.random.default_rng(1), {1: 3})
        counted = tally(
            day, [good, replace(no_fish, counts=False), replace(hole, in_hours=False, boat=None, rod_row=None)]
        )
        assert (counted.total.hits, counted.outside) == (1, 1)
        said = producing(counted, US)
        assert said.lines[-1] == "1 hit outside recorded fishing time: no rate counts it"

    def test_what_is_not_known_is_in_no_range(self) -> None:
        rig = Rig("1", "A")
        samples = [Sample(BoatRow(0.0), (RodRow(rig, depth_m=10.0),)), Sample(BoatRow(10.0), (RodRow(rig),))]
        counted = tally(samples, [])
        assert counted.total.seconds == 20
        assert [c.seconds for _, c in counted.values(Factor.DEPTH)] == [10]
        assert counted.values(Factor.HOUR) == []

    def test_the_hour_is_the_crews_own(self) -> None:
        rig = Rig("1", "A")
        sample = Sample(BoatRow(0.0, time_ms=1_784_415_720_000), (RodRow(rig),))  # 23:02 UTC
        assert tally([sample], [], -240).values(Factor.HOUR)[0][0].at == 19
        assert tally([sample], [], 120).values(Factor.HOUR)[0][0].at == 1
