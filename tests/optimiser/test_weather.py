"""Weather files (EPW): means exact by hand, every broken file told by file, line and value, a brief that names one."""

from __future__ import annotations

import math

import pytest
from written_brief import TEXT
from written_walls import BOARD, HEAD
from written_weather import HEADER, HUMIDITIES, TEMPERATURES, row, weather_file, weather_lines

from materials.catalogue import load_catalogue
from materials.errors import InputError
from optimiser.brief.brief import brief_to_toml, parse_brief, read_brief
from optimiser.wall.buildup import parse_buildup, read_buildup
from optimiser.wall.weather import LARGEST_FILE, monthly_means

LINES = weather_lines()


def means(folder, lines):
    return monthly_means(weather_file(folder, lines))


def refused(folder, lines):
    path = weather_file(folder, lines)
    with pytest.raises(InputError) as error:
        monthly_means(path)
    assert str(error.value).startswith(f"{path}: ")
    return str(error.value).removeprefix(f"{path}: ")


# Means


@pytest.mark.parametrize("leap", [False, True])
def test_steady_months_give_their_own_values(tmp_path, leap):
    temperature, humidity = means(tmp_path, weather_lines(leap=leap))
    assert temperature == pytest.approx(TEMPERATURES, rel=1e-12)
    assert humidity == pytest.approx(HUMIDITIES, rel=1e-12)


def test_the_29th_of_february_counts(tmp_path):
    found = means(
        tmp_path, weather_lines(lambda month, day, hour: (29.0 if (month, day) == (2, 29) else 0.0, 50), True)
    )
    assert found[0][1] == pytest.approx(1.0, rel=1e-12)
    assert found[0][2] == 0.0


def test_humidity_follows_the_mean_vapour_pressure_not_the_mean_humidity(tmp_path):
    """Own: p_sat = 610.5 exp(17.269 t / (237.3 + t)) of ISO 13788, by hand for 5 C by night and 15 C by day."""

    def p_sat(t):
        return 610.5 * math.exp(17.269 * t / (237.3 + t))

    temperature, humidity = means(
        tmp_path, weather_lines(lambda m, d, hour: (5.0, 90.0) if hour <= 12 else (15.0, 50.0))
    )
    assert temperature == pytest.approx([10.0] * 12)
    by_hand = 100 * (0.9 * p_sat(5.0) + 0.5 * p_sat(15.0)) / 2 / p_sat(10.0)
    assert humidity == pytest.approx([by_hand] * 12, rel=1e-12)
    assert abs(by_hand - 70.0) > 1.0


def test_fog_counts_as_saturated_and_a_month_is_never_wetter(tmp_path):
    assert means(tmp_path, weather_lines(lambda *when: (8.0, 104.0)))[1] == pytest.approx([100.0] * 12)
    swings = weather_lines(lambda month, day, hour: (0.0 if hour <= 12 else 20.0, 100.0))
    assert means(tmp_path, swings)[1] == [100.0] * 12  # the mean pressure is above saturation at the mean temperature


def test_hours_without_a_value_are_left_out(tmp_path):
    def hourly(month, day, hour):
        return {1: (99.9, 80.0), 2: (-40.0, 999)}.get(hour if day == 7 else 0, (4.0, 80.0))

    temperature, humidity = means(tmp_path, weather_lines(hourly))
    assert temperature == pytest.approx([4.0] * 12)
    assert humidity == pytest.approx([80.0] * 12)


def test_line_ends_marks_and_place_names_of_other_machines(tmp_path):
    path = tmp_path / "town.epw"
    lines = [LINES[0].replace("Nowhere", "Nówhere"), *LINES[1:]]
    path.write_bytes(b"\xef\xbb\xbf" + "\r\n".join(lines).encode())
    assert monthly_means(path)[0] == pytest.approx(TEMPERATURES)


# Broken files


def changed(number, **cells):
    """The file with other cells in one line, counted from 1."""
    lines = list(LINES)
    values = lines[number - 1].split(",")
    for column, value in cells.items():
        values[int(column[1:]) - 1] = value
    lines[number - 1] = ",".join(values)
    return lines


HEAD_WORDS = "a weather file (EPW) has 8 header lines, LOCATION first and DATA PERIODS last"
TEMPERATURE = "expected -70 to 70 degrees C, or 99.9 where it is missing (column 7)"
HUMIDITY = "expected 0 to 110 %, or 999 where it is missing (column 9)"
BROKEN = {
    "empty": ([], f"line 1 = '': expected LOCATION; {HEAD_WORDS}"),
    "another format": (["<xml/>"], f"line 1 = '<xml/>': expected LOCATION; {HEAD_WORDS}"),
    "a header line too few": (HEADER[:6] + LINES[7:], "line 8 = '2001,1,1,1,60,?9,-6.0,0.0,85.0,101325,0,': expected"),
    "header alone": (HEADER, "0 lines after the header; expected a whole year by the hour, 8760 or 8784"),
    "an hour too few": (LINES[:-1], "8759 lines after the header; expected a whole year by the hour, 8760 or 8784"),
    "half hours": (HEADER + 2 * LINES[8:], "17520 lines after the header; expected a whole year"),
    "a column too few": (
        [*LINES[:20], LINES[20].rpartition(",")[0], *LINES[21:]],
        "line 21 has 34 columns; expected 35",
    ),
    "an empty line": ([*LINES[:20], "", *LINES[21:]], "line 21 has 1 columns; expected 35"),
    "no number": (changed(9, c7="warm"), f"line 9, dry-bulb temperature = 'warm': {TEMPERATURE}"),
    "nothing": (changed(9, c7=""), f"line 9, dry-bulb temperature = '': {TEMPERATURE}"),
    "kelvin": (changed(9, c7="273.15"), f"line 9, dry-bulb temperature = '273.15': {TEMPERATURE}"),
    "not a number": (changed(8768, c7="nan"), f"line 8768, dry-bulb temperature = 'nan': {TEMPERATURE}"),
    "endless": (changed(9, c7="-inf"), f"line 9, dry-bulb temperature = '-inf': {TEMPERATURE}"),
    "a long cell": (changed(9, c7="x" * 500), f"line 9, dry-bulb temperature = '{'x' * 40}': {TEMPERATURE}"),
    "humidity below 0": (changed(10, c9="-1"), f"line 10, relative humidity = '-1': {HUMIDITY}"),
    "humidity too high": (changed(10, c9="111"), f"line 10, relative humidity = '111': {HUMIDITY}"),
    "a 13th month": (changed(11, c2="13"), "line 11, month = '13': expected 1 to 12 (column 2)"),
    "month 0": (changed(11, c2="0"), "line 11, month = '0': expected 1 to 12 (column 2)"),
    "a month in words": (changed(11, c2="May"), "line 11, month = 'May': expected 1 to 12 (column 2)"),
    "an hour of another month": (changed(11, c2="3"), "January has 743 hours; expected 744"),
    "the 29th in a common year": (
        LINES[: 8 + 59 * 24] + [row(2, 29, h, 1, 80) for h in range(1, 25)] + LINES[8 + 60 * 24 :],
        "February has 696 hours; expected 672",
    ),
    "a leap year without the 29th": (
        [*LINES, *(row(12, 31, h, 1, 80) for h in range(1, 25))],
        "February has 672 hours; expected 696",
    ),
    "a month without values": (
        weather_lines(lambda month, day, hour: (99.9 if month == 3 else 5.0, 80.0)),
        "March has temperature and humidity in 0 of 744 hours; expected at least 90% of them",
    ),
}


@pytest.mark.parametrize(("lines", "words"), BROKEN.values(), ids=BROKEN.keys())
def test_a_broken_file_is_told_by_file_line_and_value(tmp_path, lines, words):
    assert refused(tmp_path, lines).startswith(words)


def test_what_is_no_file_or_far_too_large_is_told(tmp_path):
    (tmp_path / "large.epw").write_bytes(b"0" * (LARGEST_FILE + 1))
    for name, words in (
        ("absent.epw", "no such file"),
        ("", "is a folder; expected a weather file (EPW)"),
        ("large.epw", "8 MB; expected at most 8 MB"),
        ("a\0b", "is no name of a file"),
    ):
        with pytest.raises(InputError) as error:
            monthly_means(tmp_path / name)
        assert words in str(error.value)


# In a brief and in a build-up


def test_a_brief_holds_the_twelve_values_and_needs_the_file_no_more(tmp_path):
    path = weather_file(tmp_path, LINES)
    (tmp_path / "brief.toml").write_text(TEXT + '[climate]\nepw = "town.epw"\nindoor_humidity_class = 3\n')
    brief = read_brief(tmp_path / "brief.toml")
    path.unlink()
    assert brief.climate.outdoor_temperature_c == pytest.approx(TEMPERATURES)
    assert brief.climate.outdoor_rh_percent == pytest.approx(HUMIDITIES)
    assert brief.climate.indoor_humidity_class == 3
    written = brief_to_toml(brief)
    assert "epw" not in written
    assert parse_brief(written, "again.toml") == brief


def test_a_build_up_file_may_name_one_too(tmp_path):
    weather_file(tmp_path, LINES)
    (tmp_path / "wall.toml").write_text(HEAD + BOARD + '[conditions]\nepw = "town.epw"\n')
    wall = read_buildup(tmp_path / "wall.toml", load_catalogue())
    assert wall.conditions.outdoor_temperature_c == pytest.approx(TEMPERATURES)


@pytest.mark.parametrize(
    ("climate", "words"),
    [
        ('epw = "absent.epw"', "absent.epw: no such file"),
        ("epw = 5", "brief.toml: climate, epw = 5: expected the name of a weather file"),
        ('epw = ""', "climate, epw = '': expected the name of a weather file"),
        (
            f'epw = "town.epw"\noutdoor_rh_percent = {HUMIDITIES}',
            "climate, epw: gives the outdoor air by month; leave out outdoor_rh_percent",
        ),
        (
            f'epw = "town.epw"\noutdoor_rh_percent = {HUMIDITIES}\noutdoor_temperature_c = {TEMPERATURES}',
            "leave out outdoor_temperature_c and outdoor_rh_percent",
        ),
        ('epw = "town.epw"\nindoor_humidity_class = 9', "indoor_humidity_class"),
    ],
)
def test_a_brief_that_names_one_wrongly(tmp_path, climate, words):
    weather_file(tmp_path, LINES)
    (tmp_path / "brief.toml").write_text(f"{TEXT}[climate]\n{climate}\n")
    with pytest.raises(InputError) as error:
        read_brief(tmp_path / "brief.toml")
    assert words in str(error.value)


def test_a_text_by_itself_cannot_reach_for_files():
    words = "a text by itself has no weather file beside it"
    with pytest.raises(InputError, match=words):
        parse_brief(f'{TEXT}[climate]\nepw = "town.epw"\n', "pasted")
    with pytest.raises(InputError, match=words):
        parse_buildup(f'{HEAD}{BOARD}[conditions]\nepw = "town.epw"\n', load_catalogue(), "pasted")
