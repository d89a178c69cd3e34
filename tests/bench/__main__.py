"""Speed and memory against the bare libraries (`make bench`): prints and writes the table."""

import tempfile
from pathlib import Path

from tests.bench import (
    bench_visit,
    due_page,
    every_page,
    forecast,
    history,
    light_page,
    logger_import,
    material_pages,
    package_swap,
    recording_a_visit,
    remat_page,
    start,
    suggestions,
    walk_page,
    work_page,
)
from tests.bench.measuring import report


def main() -> None:
    """Measure everything in one run."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        figures = [
            *start.measure(folder),
            *recording_a_visit.measure(folder),
            *work_page.measure(folder),
            *bench_visit.measure(folder),
            *package_swap.measure(folder),
            *remat_page.measure(folder),
            *due_page.measure(folder),
            *light_page.measure(folder),
            *walk_page.measure(folder),
            *material_pages.measure(folder),
            *suggestions.measure(folder),
            *every_page.measure(folder),
            *forecast.measure(folder),
            *history.measure(folder),
            *logger_import.measure(folder),
        ]
    report(figures)


if __name__ == "__main__":
    main()
