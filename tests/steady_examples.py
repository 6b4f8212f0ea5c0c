"""Examples of property tests: the same in every process, whatever else is loaded there."""

import pytest
from hypothesis import strategies as st
from hypothesis.internal.conjecture import providers


def leave_out_local_constants() -> None:
    """Let no example hang on which of our modules a process has loaded.

    Hypothesis would read the sources of all of them for constants to try, two seconds in each
    process of a fresh checkout.
    """
    patch = pytest.MonkeyPatch()
    patch.setattr(providers, "_get_local_constants", lambda: providers._local_constants)


def any_text(*, min_size: int = 0, max_size: int | None = None) -> st.SearchStrategy[str]:
    """Text of all characters that UTF-8 can carry: all but surrogates (RFC 3629).

    As `st.text()`, without trying each character with the codec.
    """
    return st.text(st.characters(exclude_categories=["Cs"]), min_size=min_size, max_size=max_size)
