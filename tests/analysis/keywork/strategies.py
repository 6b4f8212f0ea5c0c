"""Random fingerings for property tests: any states that the keys of a layout allow."""

from hypothesis import strategies as st

from analysis.keywork import Fingering, Layout, layout_ids, load_layout

LAYOUTS = tuple(load_layout(layout_id) for layout_id in layout_ids())


def fingerings_of(layout: Layout) -> st.SearchStrategy[Fingering]:
    states = st.tuples(*(st.sampled_from(key.states) for key in layout.keys))
    return states.map(lambda chosen: Fingering(layout, chosen))


any_fingering = st.sampled_from(LAYOUTS).flatmap(fingerings_of)
