"""What is suspected at the bench: asked for by voice, from the readings that count in the present stage."""

from __future__ import annotations

from benchvoice.decide.profile import read_board
from benchvoice.decide.suspects import opened_supplies, suspected
from benchvoice.events import OpenedPart, OpenedSupply
from benchvoice.records import Outcome, Trust
from tests.decide.builders import BOARD, command, reading
from tests.decide.test_session import Bench, kinds


def suspects(bench: Bench) -> list[str]:
    return [each.cause.at for each in suspected(bench.state).suspects]


def test_what_is_suspected_is_answered_and_journalled() -> None:
    bench = Bench()
    bench.hear(reading("rail 5", "5.02"))
    bench.hear(reading("rail 3.3", "4.0"))
    done = bench.hear(command("suspects"))
    assert (done.decision.outcome, done.decision.about) == (Outcome.ACCEPTED, "suspects")
    assert kinds(done) == ["heard", "command suspects"]
    assert done.decision.suspicion is not None
    assert [each.what for each in done.decision.suspicion.suspects] == ["3.3 V regulator"]


def test_the_next_point_is_the_one_that_tells_most() -> None:
    bench = Bench()
    bench.hear(reading("rail 3.3", "0.1"))
    done = bench.hear(command("measure next"))
    assert (done.decision.about, done.decision.point) == ("measure next", "rail 5")


def test_where_none_tells_anything_it_is_the_first_that_is_not_read() -> None:
    bench = Bench()
    for point, value in (("input", "24.1"), ("rail 5", "5.02"), ("rail 3.3", "4.0")):
        bench.hear(reading(point, value))
    done = bench.hear(command("measure next"))
    assert done.decision.point == "rail -12"
    assert done.decision.suspicion is not None
    assert done.decision.suspicion.next_point is None


def test_a_struck_reading_makes_no_suspect() -> None:
    bench = Bench()
    bench.hear(reading("rail 3.3", "4.0"))
    assert suspects(bench)
    bench.hear(command("strike"), trust=Trust.TYPED)
    assert not suspects(bench)


def test_each_stage_has_its_own_suspects() -> None:
    bench = Bench()
    bench.hear(reading("rail 3.3", "4.0"))
    bench.hear(command("after"), trust=Trust.TYPED)
    assert not suspects(bench)
    bench.hear(reading("rail 5", "0.0"))
    assert "U2" in suspects(bench)


def test_a_question_left_open_lapses() -> None:
    bench = Bench()
    bench.doubt(reading("rail 5", "5.02"), reading("rail 5", "5.20"))
    assert kinds(bench.hear(command("measure next"))) == ["heard", "lapsed", "command measure next"]


def test_the_journal_keeps_what_the_board_says_of_its_supplies() -> None:
    opened = Bench(
        BOARD.replace("through: U4}", "through: [U4, L1]}\n    loads: C7")
        .replace("    limits: {low: 200 ohm}\n", "    limits: {low: 200 ohm}\n    load_of: rail 3.3\n")
        .replace("is: 3.3 V regulator}", "is: 3.3 V regulator, fails: often}")
    ).journal[0]
    assert opened.kind == "opened"
    assert opened.supplies == (
        OpenedSupply(point="rail 5", fed_by="input", through=("U2",)),
        OpenedSupply(point="rail 3.3", fed_by="rail 5", through=("U4", "L1"), loads=("C7",)),
        OpenedSupply(point="rail 3.3 to ground", load_of="rail 3.3"),
    )
    assert opened.parts == (OpenedPart(ref="U4", what="3.3 V regulator", fails="often"),)


def test_a_board_without_supplies_keeps_none() -> None:
    assert opened_supplies(read_board("board: x\npoints: [{name: a}]\n", "x.yaml")) == ()
