"""The chart of a layout's ordinary fingerings as PDF."""

from analysis.keywork import Layout, OrdinaryFingering, ordinary_fingerings
from analysis.pitch import KINDS
from webapp.notebook.charts.charts import Chart
from webapp.notebook.charts.pdf import ChartEntry, ChartSpec, Paper, render_chart
from webapp.notebook.preferences.preferences import Writing

_USUAL_TUNING_A_HZ = 440.0  # not printed: nothing on such a chart was measured


def make_ordinary_chart(layout: Layout, *, paper: Paper = Paper.A4, writing: Writing) -> Chart:
    """Print every ordinary fingering of a layout, low to high, with where they come from.

    Notes stand in treble notation, as in the layout.
    """
    ordinary = ordinary_fingerings(layout)
    served = "; ".join(KINDS[each].name for each in layout.kinds)
    spec = ChartSpec(
        title=f"Ordinary fingerings: {layout.name}",
        instrument_name=layout.name,
        kind_name="",
        setup_lines=(layout.provenance, *([f"For {served}"] if served else [])),
        tuning_a_hz=_USUAL_TUNING_A_HZ,
        as_of=None,
        entries=tuple(_entry(each) for each in ordinary),
        paper=paper,
        accidental_style=writing.accidentals,
        names=writing.names,
        has_evidence=False,
    )
    return Chart(render_chart(spec), f"ordinary-fingerings-{layout.id}.pdf", len(ordinary))


def _entry(each: OrdinaryFingering) -> ChartEntry:
    choice = "usual fingering" if each.choice == 1 else f"choice {each.choice}"
    return ChartEntry(
        written=each.written,
        fingering=each.fingering,
        strategy=f"{choice}: {each.remark}" if each.remark else choice,
    )
