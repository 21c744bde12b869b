from datetime import date

from analytics.decisions.quiet_months import Gap, gaps


def months(*counts: int, first: date = date(2023, 10, 1)) -> dict[date, int]:
    place = first.year * 12 + first.month - 1
    days = (date((place + i) // 12, (place + i) % 12 + 1, 1) for i in range(len(counts)))
    return {day: count for day, count in zip(days, counts, strict=True) if count}


def test_months_lost_in_a_busy_time_are_one_gap_with_what_was_usual() -> None:
    counts = months(10, 12, 11, 0, 0, 9, 12, 12)
    assert gaps("done", counts, date(2024, 6, 20)) == [Gap("done", date(2024, 1, 1), date(2024, 2, 1), 2, 22.0)]


def test_a_quiet_month_of_a_small_business_is_chance() -> None:
    assert gaps("called", months(1, 2, 0, 1, 3, 0, 2), date(2024, 5, 2)) == []


def test_records_that_stop_are_a_gap_and_the_month_under_way_is_not() -> None:
    busy = months(10, 10, 10, 10)
    assert gaps("called", busy, date(2024, 2, 28)) == []
    [gap] = gaps("called", busy, date(2024, 4, 3))
    assert (gap.first_month, gap.last_month) == (date(2024, 2, 1), date(2024, 3, 1))


def test_nothing_recorded_has_no_gap() -> None:
    assert gaps("quoted", {}, date(2024, 1, 1)) == []
