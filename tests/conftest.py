"""Random tests try the same cases every time, so that a run can be repeated; `--hypothesis-profile=wander` does not.

Tests that take long stand aside unless they are asked for: `-m long` runs them, `-m "long or not long"` all there are.
"""

import pytest
from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None, print_blob=True)
settings.register_profile("wander", deadline=None)
settings.load_profile("repeatable")

LONG_FILES = (  # browser tests of states that others pass through as well, and the longest enumerations
    "test_explorer_states.py",
    "test_explorer_suppliers.py",
    "test_break_even_brute_force.py",
)
LONG_TESTS = (
    "test_axe_finds_no_grave_fault_while_a_search_runs_stops_or_fails",
    "test_every_view_fits_desk_and_tablet_and_can_be_touched",
    "test_thirty_steps_lead_back",
    "test_the_way_back_leads_over_ranges_and_locks",
    "test_a_lock_that_no_search_can_hold_is_told_in_words",
    "test_lines_are_brushed_with_the_sliders_and_chosen_by_a_click",
    "test_a_second_browser_sees_what_the_first_decides",
    "test_a_damaged_file_is_told_on_the_page",
    "test_a_line_of_the_strip_leads_to_its_wall",
    "test_keeping_asks_nothing_of_the_plot_and_marks_the_table",
    "test_what_somebody_writes_is_not_lost_to_news_from_another_browser",
    "test_boxes_choose_the_walls_and_the_address_can_be_sent",
    "test_a_wall_that_only_the_address_names_can_be_kept_from_there",
    "test_one_wall_asks_for_another_and_leads_to_the_front",
    "test_four_walls_run_off_no_screen",
)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        name = getattr(item, "originalname", item.name)
        browser = item.path.parent.name != "dashboard" or item.get_closest_marker("browser") is not None
        if name in LONG_TESTS or (item.path.name in LONG_FILES and browser):
            item.add_marker(pytest.mark.long)
