"""The forms in which a value may be said to a recogniser, with the digits that each word carries.

Fewer forms than `numbers` understands: what sounds too much like something else is left to the written transcript.
Forms that leave the point unsaid ("three three") are listened for all the same, because a recogniser that could not
hear them would turn them into something else; they are asked about.
"""

from __future__ import annotations

from benchvoice.understand.language import Language
from benchvoice.understand.templates import EMPTY, Alt, Mark, Node, Seq, Tag, Word, optional, phrase
from benchvoice.units import UNITS, QuantityKind

__all__ = ["misfit_value", "overlong_value", "unfinished_value", "value_said"]

_LONGEST_ROW = 8  # digits in a row of bare digits
_LARGE = ("resistance", "frequency")  # quantities whose values are said in thousands


def _digits(word: str, digits: str) -> Word:
    return Word(word, Tag("digits", digits))


def _mark(digits: str) -> Mark:
    return Mark(Tag("digits", digits))


class _Said:
    """Building blocks in one language."""

    def __init__(self, language: Language) -> None:
        heard = language.heard
        self.digit = Alt(tuple(_digits(word, language.digits[word]) for word in heard(language.digits)))
        self.zero = Alt(tuple(_digits(word, "0") for word in heard(language.zero)))
        self.weak_zero = Alt(tuple(_digits(word, "0") for word in heard(language.weak_zero)))
        self.plain_digit = Alt((self.digit, self.zero))
        teens = Alt(tuple(_digits(word, language.teens[word]) for word in heard(language.teens)))
        tens: Node = Alt(tuple(_digits(word, language.tens[word][0]) for word in heard(language.tens)))
        above_ten = Alt(
            tuple(part for part in teens.parts if isinstance(part, Word) and part.tag != Tag("digits", "10"))
        )
        self.full_pair = Alt((teens, Seq((tens, self.digit))))
        self.hundred_count = Alt((above_ten, Seq((tens, self.digit))))  # "twelve hundred", never "ten hundred"
        self.pair = Alt((teens, Seq((tens, Alt((self.digit, _mark("0")))))))
        self.point = Alt(tuple(Word(word, Tag("digits", ".")) for word in heard(language.point)))
        self.minus = Alt(tuple(Word(word, Tag("digits", "-")) for word in heard(language.minus)))
        self.hundred = Alt(tuple(Word(word) for word in heard(language.hundred)))
        self.thousand = Alt(tuple(Word(word) for word in heard(language.thousand)))
        self.maybe_and = optional(Alt(tuple(Word(word) for word in heard(language.and_words))))
        self.times = {count: word for word, count in language.times.items() if (word,) not in language.text_only}

    def below_hundred_after(self, zeros: int) -> Node:
        """What follows "hundred" or "thousand", padded to `zeros` digits; nothing said is zeros."""
        return Alt(
            (
                _mark("0" * zeros),
                Seq((self.maybe_and, Alt((Seq((_mark("0" * (zeros - 1)), self.digit)),
                                          Seq((_mark("0" * (zeros - 2)), self.pair)))))),
            )
        )  # fmt: skip

    def hundreds(self, count: Node) -> Node:
        return Seq((count, self.hundred, self.below_hundred_after(2)))

    def cardinal(self, *, large: bool) -> Node:
        """A number said as one."""
        below_thousand = (self.digit, self.pair, self.hundreds(self.digit))
        if not large:
            return Alt((self.zero, *below_thousand))
        return Alt(
            (
                self.zero,
                *below_thousand,
                self.hundreds(self.hundred_count),
                Seq(
                    (Alt(below_thousand), self.thousand, Alt((self.below_hundred_after(3), self.hundreds(self.digit))))
                ),
            )
        )

    def row(self, most: int) -> Node:
        """One to `most` digits said one by one; "double" and "triple" count as two and three."""
        if most < 1:
            return EMPTY
        more = optional(self.row(most - 1)) if most > 1 else EMPTY
        forms: list[Node] = [Seq((self.plain_digit, more))]
        for count, word in sorted(self.times.items()):
            if count <= most:
                rest = optional(self.row(most - count)) if most > count else EMPTY
                forms.append(Seq((Word(word), self.repeated(count), rest)))
        return Alt(tuple(forms))

    def repeated(self, count: int, *, zero: bool = True) -> Node:
        """A digit word that stands for itself `count` times."""
        every = (*self.digit.parts, *(self.zero.parts if zero else ()))
        return Alt(
            tuple(_digits(leaf.text, leaf.tag.text * count) for leaf in every if isinstance(leaf, Word) and leaf.tag)
        )

    def bare_row(self, most: int) -> Node:
        """A code or counter, where "oh" is how zero is said."""
        digit = Alt((self.digit, self.zero, self.weak_zero))
        more = optional(self.bare_row(most - 1)) if most > 1 else EMPTY
        doubles = tuple(
            Seq((Word(word), self.repeated(count), optional(self.bare_row(most - count)) if most > count else EMPTY))
            for count, word in sorted(self.times.items())
            if count <= most
        )
        return Alt((Seq((digit, more)), *doubles))

    def decimals(self, most: int) -> Node:
        """What follows the point: up to `most` digits one by one; the last two may be said as one number.

        "oh" is the weak word, easily imagined and mistaken for "two": it is listened for only where people say it
        most, straight after the point.
        """
        if most < 1:
            return EMPTY
        forms: list[Node] = [self.row(most)]
        for ohs in range(1, most + 1):
            rest = optional(self.row(most - ohs)) if most > ohs else EMPTY
            forms.append(Seq((*(self.weak_zero,) * ohs, rest)))
        if most >= 2:
            forms.append(self.pair)
        if most >= 3:
            forms.append(Seq((Alt((self.plain_digit, self.weak_zero)), self.pair)))
        return Alt(tuple(forms))

    def before_point(self, cardinal: Node) -> Node:
        """The whole part: a number, its digits one by one, or pairs; nothing said is zero, "oh point" is common."""
        return Alt((cardinal, self.hundreds_unsaid(), Seq((self.digit, self.row(2))), self.weak_zero, _mark("0")))

    def hundreds_unsaid(self) -> Node:
        """The everyday form of hundreds: "two thirty", "one oh five"."""
        return Alt((Seq((self.digit, self.pair)), Seq((self.digit, self.weak_zero, self.digit))))

    def unpointed(self) -> Node:
        """Numbers in groups, without a point: everyday hundreds, and rows whose point was left out."""
        doubled = tuple(
            Seq((Word(word), self.repeated(count, zero=False), optional(self.row(2))))
            for count, word in sorted(self.times.items())
        )
        return Alt(
            (
                self.hundreds_unsaid(),
                Seq((self.digit, self.row(3))),
                *doubled,
                Seq((self.full_pair, self.digit)),
                Seq((self.full_pair, self.digit, self.plain_digit)),
            )
        )


def unfinished_value(kind: QuantityKind, decimals: int, language: Language) -> Node:
    """A value whose decimals were swallowed: "five point". No alternatives where it can have none.

    Listened for so that it can be refused: without it a recogniser would put some digit in.
    """
    if not kind.base or decimals < 1:
        return Alt(())
    said = _Said(language)
    unfinished: Node = Seq((said.before_point(said.cardinal(large=kind.name in _LARGE)), said.point))
    return Seq((optional(said.minus), unfinished)) if kind.signed else unfinished


def overlong_value(kind: QuantityKind, decimals: int, language: Language) -> Node:
    """A value with up to three digits more after its point than `decimals`. No alternatives where it can have none."""
    if not kind.base or decimals < 1:
        return Alt(())
    said = _Said(language)
    digit = Alt((said.plain_digit, said.weak_zero))
    begun = (said.before_point(said.cardinal(large=kind.name in _LARGE)), said.point, *(digit,) * decimals)
    unit = Alt(tuple(phrase(words) for words in language.heard_units.get(kind.name, ())))
    overlong: Node = Seq((*begun, digit, optional(digit), optional(digit), optional(unit)))
    return Seq((optional(said.minus), overlong)) if kind.signed else overlong


def misfit_value(kind: QuantityKind, decimals: int, others: tuple[QuantityKind, ...], language: Language) -> Node:
    """A value with a unit that measures something else on this board. No alternatives where there is none.

    Listened for so that it can be refused: without it "five ohms" at a voltage would be heard as five.
    """
    if kind.words:  # who reads "point two ohms" there has another function of the meter
        ohms = Alt(tuple(phrase(words) for words in language.heard_units.get("resistance", ())))
        said = _Said(language)
        return Seq((_number(said, said.cardinal(large=False), decimals=2), ohms))
    own = language.unit_phrases(kind)
    units = dict.fromkeys(words for other in others for words in language.heard_units.get(other.name, ()))
    # base units only: "milliohms" is too near to "milliamps" to be worth its harm
    misfits = tuple(phrase(words) for words in units if words not in own and UNITS[language.units[words]].exponent == 0)
    if not kind.base or not misfits:
        return Alt(())
    said = _Said(language)
    number = _number(said, said.cardinal(large=kind.name in _LARGE), decimals)
    misfit: Node = Seq((number, Alt(misfits)))
    return Seq((optional(said.minus), misfit)) if kind.signed else misfit


def _number(said: _Said, cardinal: Node, decimals: int) -> Node:
    forms: list[Node] = [cardinal, said.unpointed()]
    if decimals > 0:
        forms.append(Seq((said.before_point(cardinal), said.point, said.decimals(decimals))))
    return Alt(tuple(forms))


def value_said(kind: QuantityKind, decimals: int, language: Language) -> Node:
    """The template of a value of `kind` with at most `decimals` digits after the point.

    Tags: "digits" (fragments to be joined), "unit" (symbol), "over range".
    """
    said = _Said(language)
    if kind.words:
        heard_words = language.heard_in_words[kind.name].items()
        return Alt(tuple(phrase(words, Tag("digits", value)) for words, value in heard_words))
    if not kind.base:
        return said.bare_row(_LONGEST_ROW)
    cardinal = said.cardinal(large=kind.name in _LARGE)
    symbols = language.unit_phrases(kind)
    heard = language.heard_units.get(kind.name, ())
    unit = Alt(tuple(phrase(words, Tag("unit", symbols[words])) for words in heard))
    number: Node = Seq((_number(said, cardinal, decimals), optional(unit)))
    infix = tuple(words for words in heard if words in language.infix_units.get(kind.name, frozenset()))
    if infix and decimals > 0:
        stand_in = Alt(tuple(phrase((*words,), Tag("infix", symbols[words])) for words in infix))
        number = Alt((number, Seq((cardinal, stand_in, said.decimals(min(decimals, 2))))))
    if kind.signed:
        number = Seq((optional(said.minus), number))
    over = tuple(
        phrase(words, Tag("over range", kind.base)) for words in language.over_range if words not in language.text_only
    )
    return Alt((number, *over))
