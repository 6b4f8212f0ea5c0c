"""Random fingerings for property tests: any states that the keys of a layout allow."""

from hypothesis import strategies as st

from analysis.keywork import KeyStates, Layout, layout_ids, load_layout

# As they ship, and with every optional key fitted.
LAYOUTS = tuple(load_layout(layout_id) for layout_id in layout_ids())
COMPLETE = tuple(layout.complete for layout in LAYOUTS)
EVERY = (*LAYOUTS, *(layout for layout in COMPLETE if layout not in LAYOUTS))


def name_layout(layout: Layout) -> str:
    """Name a layout in the ids of parametrised tests."""
    return layout.id if layout in LAYOUTS else f"{layout.id} complete"


def fingerings_of(layout: Layout) -> st.SearchStrategy[KeyStates]:
    states = st.tuples(*(st.sampled_from(key.states) for key in layout.keys))
    return states.map(lambda chosen: KeyStates(layout, chosen))


any_fingering = st.sampled_from(EVERY).flatmap(fingerings_of)
