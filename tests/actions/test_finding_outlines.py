"""Findings are drawn on photographs, measured, and found again on others; on both databases."""

import pytest
from sqlmodel import Session, col, select

from models.actions.finding_outlines import place_finding, record_corners
from models.actions.findings_placed import WorkPlaced, findings_placed
from models.errors import BadValue, NotAllowed, NotFound, Stale
from models.rules.sheet_corners import Point
from models.rules.visit_as_told import OutlineTold, ReachTold, SightingTold, VisitTold
from models.tables.findings import Finding, Sighting
from models.tables.outlines import FindingOutline
from models.tables.photographs import Photograph
from models.tables.visible import THE_HOUSE
from models.tables.works import Work
from models.vocabulary import (
    Change,
    Edge,
    OutlineShape,
    PhotographView,
    Severity,
    Side,
    VisitKind,
)
from tests.actions.test_visits import bench, tell, work_on_record
from tests.builders import a_keeper, a_work, added, an_owner, key_of

__all__ = ["bench"]

STRAIGHT = ((0.1, 0.1), (0.9, 0.1), (0.9, 0.9), (0.1, 0.9))
# The sheet is 420 x 300 mm: on STRAIGHT, 1 % of the picture is 5.25 mm across and 3.75 mm down.
SPOT = ((0.2, 0.2), (0.3, 0.2), (0.3, 0.3), (0.2, 0.3))
FOXING = "foxing"
LOOK = VisitTold(on="2026-11-20", kind=VisitKind.LOOK)


def a_photograph(
    session: Session, work: Work, view: PhotographView = PhotographView.RECTO
) -> Photograph:
    return added(
        session,
        Photograph(
            work_id=key_of(work),
            view=view,
            sha256="a" * 64,
            media_type="image/jpeg",
            byte_count=1000,
            width_px=2000,
            height_px=1500,
        ),
    )


def seen(outline: OutlineTold | None, **told: object) -> SightingTold:
    first = {"term": FOXING, "severity": Severity.SLIGHT, "outline": outline, **told}
    return SightingTold(change=Change.NEW, **first)  # type: ignore[arg-type]


def drawn_on(photograph: Photograph | None, *points: Point) -> OutlineTold:
    shape = OutlineShape.POINT if len(points) == 1 else OutlineShape.OUTLINE
    number = None if photograph is None else key_of(photograph)
    return OutlineTold(
        shape=shape, photograph=number, points=points, on_photograph=photograph is not None
    )


def where(session: Session, work: Work) -> WorkPlaced:
    return findings_placed(session, THE_HOUSE, key_of(work))


def only_sighting(session: Session) -> Sighting:
    return session.exec(select(Sighting).order_by(col(Sighting.id).desc())).all()[0]


def test_a_finding_drawn_on_a_photograph_is_kept_in_places_of_the_sheet(bench: Session) -> None:
    keeper, work = a_keeper(bench), work_on_record(bench)
    photograph = a_photograph(bench, work)
    record_corners(bench, keeper, key_of(photograph), STRAIGHT)

    tell(bench, keeper, work, LOOK, sightings=(seen(drawn_on(photograph, *SPOT)),))

    (finding,) = where(bench, work).findings
    (place,) = finding.places
    assert place.only_on is None
    np_like = [(round(x, 2), round(y, 2)) for x, y in place.outlines[0]]
    assert np_like == [(52.5, 37.5), (105.0, 37.5), (105.0, 75.0), (52.5, 75.0)]
    # 52.5 x 37.5 mm of 420 x 300 mm.
    assert only_sighting(bench).extent_percent == 1.56


def test_on_a_photograph_of_the_verso_the_right_of_the_picture_is_the_left_of_the_sheet(
    bench: Session,
) -> None:
    keeper, work = a_keeper(bench), work_on_record(bench)
    photograph = a_photograph(bench, work, PhotographView.VERSO)
    record_corners(bench, keeper, key_of(photograph), STRAIGHT)
    told = seen(drawn_on(photograph, (0.9, 0.1)), side=Side.VERSO)
    tell(bench, keeper, work, LOOK, kind=VisitKind.UNFRAMING, sightings=(told,))
    assert where(bench, work).findings[0].places[0].outlines == (((0.0, 0.0),),)


def test_what_was_drawn_before_the_corners_were_known_is_read_through_them_afterwards(
    bench: Session,
) -> None:
    keeper, work = a_keeper(bench), work_on_record(bench)
    photograph = a_photograph(bench, work)
    tell(bench, keeper, work, LOOK, sightings=(seen(drawn_on(photograph, (0.5, 0.5))),))
    assert where(bench, work).findings[0].places[0].only_on == photograph.id

    corners = record_corners(bench, keeper, key_of(photograph), STRAIGHT)
    assert where(bench, work).findings[0].places[0].outlines == (((210.0, 150.0),),)

    wider = ((0.0, 0.1), (1.0, 0.1), (1.0, 0.9), (0.0, 0.9))
    record_corners(bench, keeper, key_of(photograph), wider, based_on=corners.version)
    (((left, top),),) = where(bench, work).findings[0].places[0].outlines
    assert (round(left, 6), round(top, 6)) == (210.0, 150.0)


def test_a_band_along_a_part_of_an_edge_is_measured(bench: Session) -> None:
    keeper, work = a_keeper(bench), work_on_record(bench)
    band = OutlineTold(shape=OutlineShape.BAND, from_mm=100, to_mm=200)
    told = seen(band, reach=ReachTold(Edge.LEFT, 12, follows_window_edge=True))
    tell(bench, keeper, work, LOOK, sightings=(told,))
    (place,) = where(bench, work).findings[0].places
    assert place.outlines == (((0, 100), (12, 100), (12, 200), (0, 200)),)
    # 12 x 100 mm of 420 x 300 mm.
    assert only_sighting(bench).extent_percent == 0.95


def test_a_stain_that_grew_is_measured_anew_and_its_earlier_place_is_kept(bench: Session) -> None:
    keeper, work = a_keeper(bench), work_on_record(bench)
    told = seen(None, term="mat burn", reach=ReachTold(Edge.LEFT, 10))
    tell(bench, keeper, work, LOOK, on="2019-05-01", sightings=(told,))
    finding = bench.exec(select(Finding)).one()
    for on, mm in (("2021-05-01", None), ("2024-05-01", 16.0)):
        change = Change.UNCHANGED if mm is None else Change.GROWN
        reach = None if mm is None else ReachTold(Edge.LEFT, mm)
        again = SightingTold(finding=key_of(finding), change=change, reach=reach)
        tell(bench, keeper, work, LOOK, on=on, sightings=(again,))
    places = where(bench, work).findings[0].places
    assert [(p.on_edtf, p.reach_mm) for p in places] == [("2019-05-01", 10), ("2024-05-01", 16)]


def test_what_is_no_longer_visible_keeps_the_place_where_it_was(bench: Session) -> None:
    keeper, work = a_keeper(bench), work_on_record(bench)
    tell(bench, keeper, work, LOOK, on="2019-05-01", sightings=(seen(drawn_on(None, (50, 60))),))
    finding = bench.exec(select(Finding)).one()
    gone = SightingTold(finding=key_of(finding), change=Change.NO_LONGER_VISIBLE)
    tell(bench, keeper, work, LOOK, on="2024-05-01", sightings=(gone,))
    (placed,) = where(bench, work).findings
    assert placed.is_gone
    assert [place.outlines for place in placed.places] == [(((50.0, 60.0),),)]


def test_what_was_typed_of_the_extent_stays_though_an_outline_was_drawn(bench: Session) -> None:
    keeper, work = a_keeper(bench), work_on_record(bench)
    square = drawn_on(None, (0, 0), (42, 0), (42, 30), (0, 30))
    tell(bench, keeper, work, LOOK, sightings=(seen(square, extent_percent=3.0),))
    assert only_sighting(bench).extent_percent == 3.0


def test_a_sighting_on_record_is_drawn_afterwards_and_drawn_anew(bench: Session) -> None:
    keeper, work = a_keeper(bench), work_on_record(bench)
    tell(bench, keeper, work, LOOK, sightings=(seen(None),))
    sighting_id = key_of(only_sighting(bench))
    first = place_finding(bench, keeper, sighting_id, drawn_on(None, (10, 10)))
    square = drawn_on(None, (0, 0), (42, 0), (42, 30), (0, 30))
    with pytest.raises(Stale):
        place_finding(bench, keeper, sighting_id, square)
    place_finding(bench, keeper, sighting_id, square, based_on=first.version)
    kept = bench.exec(select(FindingOutline)).one()
    assert (kept.shape, kept.points) == (
        OutlineShape.OUTLINE,
        "[[0,0],[42000,0],[42000,30000],[0,30000]]",
    )
    # A hundredth of the sheet.
    assert only_sighting(bench).extent_percent == 1.0


def test_corners_that_somebody_set_meanwhile_are_not_overwritten(bench: Session) -> None:
    keeper, work = a_keeper(bench), work_on_record(bench)
    photograph = a_photograph(bench, work)
    record_corners(bench, keeper, key_of(photograph), STRAIGHT)
    with pytest.raises(Stale):
        record_corners(bench, keeper, key_of(photograph), STRAIGHT)


def test_an_owner_sets_no_corners(bench: Session) -> None:
    work = a_work(bench, owner="The Gannet House")
    photograph = a_photograph(bench, work)
    with pytest.raises(NotAllowed):
        record_corners(bench, an_owner(bench), key_of(photograph), STRAIGHT)


def test_nobody_draws_on_what_they_do_not_see(bench: Session) -> None:
    with pytest.raises(NotFound):
        place_finding(bench, a_keeper(bench), 4711, drawn_on(None, (10, 10)))


@pytest.mark.parametrize(
    ("told", "said"),
    [
        (OutlineTold(shape=OutlineShape.BAND), "this finding has none"),
        (OutlineTold(shape=OutlineShape.POINT), "A point is one place; 0 were given"),
        (drawn_on(None, (500, 10)), "500 mm from the left, 10 mm from the top is off the sheet"),
        (drawn_on(None, (float("nan"), 10)), "not on any sheet"),
        (
            OutlineTold(shape=OutlineShape.POINT, points=((1, 1),), photograph=99),
            "no photograph 99",
        ),
        (
            OutlineTold(shape=OutlineShape.POINT, points=((1, 1),), on_photograph=True),
            "On which photograph",
        ),
    ],
)
def test_what_cannot_be_drawn_is_refused_where_it_was_told(
    bench: Session, told: OutlineTold, said: str
) -> None:
    keeper, work = a_keeper(bench), work_on_record(bench)
    with pytest.raises(BadValue, match=said) as refused:
        tell(bench, keeper, work, LOOK, sightings=(seen(told),))
    assert refused.value.faults[0].pointer.startswith("/report/sightings/0/outline/")


@pytest.mark.parametrize(
    ("part", "edge", "said"),
    [
        ((200, 100), Edge.LEFT, "from 200 to 100 mm is no part of this edge"),
        ((0, 301), Edge.LEFT, "from 0 to 301 mm is no part of this edge"),
        ((None, 301), Edge.LEFT, "where it begins and where it ends"),
        ((0, 10), Edge.ALL, "where it begins and where it ends"),
    ],
)
def test_a_part_of_an_edge_that_is_none_is_refused(
    bench: Session, part: tuple[float | None, float], edge: Edge, said: str
) -> None:
    keeper, work = a_keeper(bench), work_on_record(bench)
    band = OutlineTold(shape=OutlineShape.BAND, from_mm=part[0], to_mm=part[1])
    told = seen(band, reach=ReachTold(edge, 12))
    with pytest.raises(BadValue, match=said):
        tell(bench, keeper, work, LOOK, sightings=(told,))


def test_a_photograph_of_another_work_or_of_the_other_side_is_refused(bench: Session) -> None:
    keeper, work = a_keeper(bench), work_on_record(bench)
    other, verso = (
        a_photograph(bench, a_work(bench)),
        a_photograph(bench, work, PhotographView.VERSO),
    )
    with pytest.raises(BadValue, match="shows another work"):
        tell(bench, keeper, work, LOOK, sightings=(seen(drawn_on(other, (0.5, 0.5))),))
    with pytest.raises(BadValue, match="shows the verso, and the finding is not there"):
        tell(bench, keeper, work, LOOK, sightings=(seen(drawn_on(verso, (0.5, 0.5))),))
