"""Labels to cut out: every word is on its page, and within its own label."""

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg

from emcforecast.charts.labels import COLUMNS, PAGE, ROWS, label_pages


def test_labels_hold_their_words():
    lines = [
        "Larch, 27 mm",
        "Next: Bring into the heated house about 10 December. " * 2,
    ]
    labels = [(f"larch-{k} by the north wall of the barn", lines) for k in range(9)]
    pages = list(label_pages(labels))
    assert len(pages) == 2
    for page, count in zip(pages, (8, 1), strict=True):
        drawer = FigureCanvasAgg(page).get_renderer()
        words = page.axes[0].texts
        assert sum("larch-" in text.get_text() for text in words) == count
        for text in words:
            box = text.get_window_extent(drawer).transformed(
                page.dpi_scale_trans.inverted()
            )
            wide, high = PAGE[0] / COLUMNS, PAGE[1] / ROWS
            # Left and right end in one column, top and bottom in one row.
            assert np.floor(box.x0 / wide) == np.floor(box.x1 / wide)
            assert np.floor(box.y0 / high) == np.floor(box.y1 / high)
