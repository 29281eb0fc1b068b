"""Results of utterances, made up."""

from __future__ import annotations

from hypothesis import strategies as st

from benchvoice.scoring.tallies import RESULTS, Scored

__all__ = ["results", "scored"]


def scored(result: str = "right", **fields: str) -> Scored:
    given = {"audio": "a.wav", "text": "input reads five", "heard": "", **fields}
    return Scored(result=result, **given)  # type: ignore[arg-type]


def results() -> st.SearchStrategy[list[Scored]]:
    labels = st.sampled_from(("", "a", "b"))
    one = st.builds(
        lambda result, audio, text, speaker, noise: scored(
            result, audio=audio, text=text, speaker=speaker, noise=noise
        ),
        st.sampled_from(RESULTS),
        st.sampled_from(("1.wav", "2.wav", "3.wav")),
        st.sampled_from(("five", "six")),
        labels,
        labels,
    )
    return st.lists(one, max_size=12)
