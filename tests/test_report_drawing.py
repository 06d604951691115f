"""The static drawing: places worked out by hand, and everything it must refuse."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import plotly.graph_objects as go
import pytest

from pipeline.report.charts import by_level, group_matrix, over_time, site_panels, summary_charts
from pipeline.report.charts.drawing import Words, draw
from pipeline.report.charts.looks import FONT, apart, note, plain
from pipeline.report.charts.plotly_lists import Figure
from pipeline.report.pages import service_page
from tests import report_content

WORDS = Words("k", "A title", "A description", "wide")


def layout(**more):
    # The plot is 150 wide and 50 high, from (20, 10) to (170, 60).
    axis = {"tickfont": {"size": 10, "color": "#595959"}, "showgrid": False, "showline": False, "zeroline": False}
    return {
        "width": 200,
        "height": 100,
        "margin": {"l": 20, "r": 30, "t": 10, "b": 40},
        "font": {"family": FONT, "size": 10, "color": "#000000"},
        "showlegend": False,
        "xaxis": {**axis, "range": [0, 10], "tickvals": [5], "ticktext": ["half"]},
        "yaxis": {**axis, "range": [0, 2], "tickvals": [0, 2], "ticktext": ["0", "2"]},
        **more,
    }


def points(**more):
    marker = {"symbol": "circle", "size": 8, "color": "#0072B2", "line": {"color": "#0072B2", "width": 2}}
    line = {"color": "#0072B2", "width": 1}
    own = {"x": [0, 4], "y": [2, 0.5], "mode": "lines+markers", "line": line, "marker": marker, **more}
    return {"type": "scatter", **own}


def flow(**node):
    # 40 cases, one gap of 10 in 100: each case is (100 - 10) / 40 = 2.25 high.
    return {
        "type": "sankey",
        "arrangement": "fixed",
        "orientation": "h",
        "node": {
            "x": [0.1, 0.1, 0.9],
            "y": [0.3375, 0.8875, 0.5],
            "thickness": 10,
            "pad": 10,
            "color": ["#000000", "#595959", "#0072B2"],
            "line": {"width": 0},
            **node,
        },
        "link": {"source": [0, 1], "target": [2, 2], "value": [30, 10], "color": ["rgba(0,0,0,0.2)"] * 2},
    }


def flow_layout():
    own = layout(width=200, height=120, margin={"l": 50, "r": 50, "t": 10, "b": 10})
    return {name: said for name, said in own.items() if not name.endswith("axis")}


def test_a_known_value_lands_on_the_place_worked_out_by_hand():
    drawn = draw(Figure([points()], layout()), WORDS)
    # x = 20 + 4 / 10 * 150 = 80; y = 60 - 0.5 / 2 * 50 = 47.5; the first point is the upper left corner of the plot.
    # A circle is a stroke of no length with round ends: as wide as the mark's size, 8, and its edge, 2.
    assert '<path d="M20 10h0M80 47.5h0" stroke="#0072B2" stroke-width="10" stroke-linecap="round"/>' in drawn
    assert '<path d="M20 10L80 47.5" fill="none" stroke="#0072B2" stroke-width="1"/>' in drawn


def test_tick_labels_stand_at_their_values():
    drawn = draw(Figure([points()], layout()), WORDS)
    # 20 + 5 / 10 * 150, centred; hung 8 below the plot: 60 + 8 + 0.89 * 10
    assert 'text-anchor="middle"><text x="95" y="76.9">half</text>' in drawn
    # 8 left of the plot, its middle on y = 10: 10 - 10 / 2 + 0.89 * 10
    assert 'transform="translate(12 0)">' in drawn
    assert '<text y="13.9">2</text>' in drawn


def test_what_ticks_share_of_their_place_the_group_says_once():
    two = {"tickvals": [0, 5], "ticktext": ["none", "half<br>way"]}
    up = {"tickvals": [0, 2], "ticktext": ["0", "2"]}
    drawn = draw(Figure([points()], layout(xaxis=layout()["xaxis"] | two, yaxis=layout()["yaxis"] | up)), WORDS)
    # The places of the test above; the second line of a label begins where its first does, 1.25 of its size lower.
    assert 'transform="translate(0 76.9)"><text x="20">none</text><text x="95">half<tspan x="95" dy="12.5">way' in drawn
    assert 'transform="translate(12 0)"><text y="63.9">0</text><text y="13.9">2</text>' in drawn


def test_error_bars_reach_their_limits():
    error = {"type": "data", "symmetric": False, "array": [None, 1.0], "arrayminus": [None, 0.1], "width": 0}
    drawn = draw(Figure([points(error_y={**error, "color": "#000000", "thickness": 1.5})], layout()), WORDS)
    # From 0.4 (y = 60 - 10 = 50) up to 1.5 (y = 60 - 37.5 = 22.5); the point without limits has none.
    assert '<path d="M80 50V22.5" fill="none" stroke="#000000" stroke-width="1.5"/>' in drawn


def test_bars_across_with_caps():
    error = {"type": "data", "symmetric": False, "array": [2, 2], "arrayminus": [0, 2], "width": 3}
    drawn = draw(Figure([points(error_x={**error, "color": "#000000", "thickness": 1.0})], layout()), WORDS)
    assert "M20 10H50M20 7v6M50 7v6M50 47.5H110M50 44.5v6M110 44.5v6" in drawn


def test_a_gap_is_not_joined():
    drawn = draw(Figure([points(x=[0, 2, 4, 6], y=[1, None, 1, 2], mode="lines")], layout()), WORDS)
    assert 'd="M20 35M80 35L110 10"' in drawn


def test_steps_go_across_and_then_up():
    step = {"color": "#000000", "width": 1, "shape": "hv"}
    drawn = draw(Figure([points(x=[0, 4], y=[0, 1], mode="lines", line=step)], layout()), WORDS)
    assert 'd="M20 60H80V35"' in drawn


def test_hollow_marks_are_filled_with_their_own_colour():
    marker = {"symbol": "circle", "size": 8, "color": ["#0072B2", "#FDFCFA"], "line": {"color": "#0072B2", "width": 2}}
    drawn = draw(Figure([points(marker=marker)], layout()), WORDS)
    # The edge of both first; then the inside of the hollow one over it, 2 narrower than its size of 8.
    edge = '<path d="M80 47.5h0" stroke="#0072B2" stroke-width="10" stroke-linecap="round"/>'
    assert edge + '<path d="M80 47.5h0" stroke="#FDFCFA" stroke-width="6" stroke-linecap="round"/>' in drawn
    assert '<path d="M20 10h0" stroke="#0072B2" stroke-width="10" stroke-linecap="round"/>' in drawn


def test_diamonds_and_strokes():
    edge = {"line": {"color": "#000000", "width": 2}}
    diamond = {"symbol": "diamond", "size": 10, "color": "#FDFCFA", **edge}
    strokes = {"symbol": ["line-ew-open", "line-ns-open"], "size": 10, **edge}
    drawn = draw(Figure([points(marker=diamond), points(marker=strokes)], layout()), WORDS)
    assert "M80 42.5l5 5 -5 5 -5 -5z" in drawn
    assert "M15 10h10M80 42.5v10" in drawn


def test_flow_nodes_and_bands_have_the_height_of_their_cases():
    drawn = draw(Figure([flow()], flow_layout()), WORDS)
    # 30 cases: 67.5 high from the top; 10 cases: 22.5 high to the bottom; all 40 together 90, in the middle.
    assert '<rect x="55" y="10" width="10" height="67.5" fill="#000000"/>' in drawn
    assert '<rect x="55" y="87.5" width="10" height="22.5" fill="#595959"/>' in drawn
    assert '<rect x="135" y="15" width="10" height="90" fill="#0072B2"/>' in drawn
    # The first band leaves at 10 and arrives at 15; the second leaves at 87.5 and arrives below the first, at 82.5.
    assert "M65 10C100 10 100 15 135 15v67.5C" in drawn
    assert "M65 87.5C100 87.5 100 82.5 135 82.5v22.5C" in drawn


def test_a_flow_that_loses_cases_is_refused():
    lossy = flow(x=[0.1, 0.5, 0.9], y=[0.5, 0.5, 0.5], pad=0)
    lossy["link"] |= {"source": [0, 1], "target": [1, 2]}
    with pytest.raises(ValueError, match=r"takes in 30 and gives out 10"):
        draw(Figure([lossy], flow_layout()), WORDS)


def test_a_node_off_the_drawing_is_refused():
    with pytest.raises(ValueError, match="does not fit the height"):
        draw(Figure([flow(y=[0.1, 0.8875, 0.5])], flow_layout()), WORDS)


@pytest.mark.parametrize(
    ("named", "figure"),
    [
        (r"data\[0\] is a bar trace", Figure([{"type": "bar", "x": [1], "y": [1]}], layout())),
        (r"data\[0\]\.opacity", Figure([points(opacity=0.5)], layout())),
        (r"data\[0\]\.text", Figure([points(text=["a", "b"])], layout())),
        (r"data\[0\]\.mode = 'text'", Figure([points(mode="text")], layout())),
        (r"marker\.opacity", Figure([points(marker={"opacity": 0.5, "size": 4})], layout())),
        (r"marker\.symbol = 'square'", Figure([points(marker={"symbol": "square", "size": 4})], layout())),
        (r"line\.smoothing", Figure([points(line={"color": "#000000", "width": 1, "smoothing": 1})], layout())),
        (r"line\.dash = 'longdash'", Figure([points(line={"color": "#000000", "dash": "longdash"})], layout())),
        (r"error_y\.symmetric = True", Figure([points(error_y={"type": "data", "symmetric": True})], layout())),
        (r"data\[0\]\.y is ndarray, not a list", Figure([points(y=np.array([1.0, 2.0]))], layout())),
        (r"layout\.title", Figure([points()], layout(title={"text": "a"}))),
        (r"layout\.template", Figure([points()], layout(template="plotly_white"))),
        (r"layout\.showlegend = True", Figure([points()], layout(showlegend=True))),
        (r"layout\.xaxis\.tickangle", Figure([points()], layout(xaxis={"range": [0, 1], "tickangle": 45}))),
        (r"layout\.font\.family", Figure([points()], layout(font={"family": "Georgia", "size": 9, "color": "#000"}))),
        (r"annotations\[0\]\.bgcolor", Figure([points()], layout(annotations=[note("a", 1, 1, bgcolor="#fff")]))),
        (r"showarrow = True", Figure([points()], layout(annotations=[note("a", 1, 1) | {"showarrow": True}]))),
        (r"node\.customdata", Figure([flow(customdata=[1, 2, 3])], flow_layout())),
        (r"node\.line", Figure([flow(line={"width": 1})], flow_layout())),
        (r"2 ticks and 1 labels", Figure([points()], layout(xaxis=layout()["xaxis"] | {"tickvals": [1, 2]}))),
    ],
)
def test_what_the_drawing_does_not_know_is_an_error(named, figure):
    with pytest.raises(ValueError, match=named):
        draw(figure, WORDS)


def test_names_in_labels_are_safe():
    name = '<script>alert("1")</script> & <b>co</b>'
    drawn = draw(
        Figure([points()], layout(annotations=[note(plain(name), 5, 1)])), Words("k", name, f"about {name}", "wide")
    )
    assert "<script" not in drawn
    assert "<b>" not in drawn
    assert drawn.count("&lt;script&gt;") == 3  # the label, the title and the description


def test_markup_in_a_label_is_refused():
    with pytest.raises(ValueError, match="escape it as &lt;"):
        draw(Figure([points()], layout(annotations=[note("a <b>bold</b> name", 5, 1)])), WORDS)


def test_a_label_of_two_lines_is_centred_on_its_place():
    drawn = draw(Figure([points()], layout(annotations=[note("one<br>two", 10, 1, xshift=6)])), WORDS)
    # Two lines of 10, the second 12.5 below: a block of 22.5 about y = 35, so the first baseline is at 23.75 + 8.9.
    assert '<text x="176" y="32.6">one<tspan x="176" dy="12.5">two</tspan></text>' in drawn


def test_the_drawing_says_what_it_is():
    drawn = draw(Figure([points()], layout()), WORDS)
    assert drawn.startswith('<svg class="wide" viewBox="0 0 200 100" role="img" aria-labelledby="k-title k-desc"')
    assert '<title id="k-title">A title</title><desc id="k-desc">A description</desc>' in drawn
    assert " style=" not in drawn


@pytest.mark.parametrize(
    ("wanted", "placed"),
    [
        ([50.0], [50.0]),
        ([80.0, 20.0], [80.0, 20.0]),
        ([50.0, 55.0], [42.5, 62.5]),  # part about their middle
        ([0.0, 0.0], [10.0, 30.0]),  # not below the lowest place
        ([100.0, 100.0], [80.0, 100.0]),  # nor above the highest
    ],
)
def test_labels_part_where_they_would_touch(wanted, placed):
    assert apart(wanted, 20.0, 10.0, 100.0) == placed


def test_plotly_itself_knows_every_figure_of_the_pages(monkeypatch: pytest.MonkeyPatch):
    """The pages state figures as dictionaries, which say anything; Plotly's own classes refuse a mistake."""
    asked = []

    def asking(data, layout):
        asked.append({trace["type"] for trace in data})
        go.Figure(list(data), layout)
        return Figure(data, layout)

    for module in (by_level, group_matrix, over_time, site_panels, summary_charts):
        monkeypatch.setattr(module, "Figure", asking)
    content = report_content.content()
    of_each_kind = {measure.kind: measure for measure in content.measures}
    few = tuple(of_each_kind.values())
    glance = tuple(measure.name for measure in few)
    settings = replace(content.settings, at_a_glance=glance, standards={few[0].name: 0.9})
    few_of_them = replace(content, measures=few, settings=settings)
    service_page.page(few_of_them)  # the page to explore has the same charts over time
    assert set.union(*asked) == {"scatter", "sankey"}
    assert len(asked) >= 20
    with pytest.raises(ValueError, match="opacty"):
        asking([points(opacty=1)], layout())
