// SPDX-License-Identifier: MIT
// What befell a take, put together from what was noted.
#include "procedure/live/live_course.h"

#include "support/suite.h"

#include <math.h>

static DwLiveCourse course;

static void set_up(void)
{
    course = (DwLiveCourse){0};
}

START_TEST(holes_count_in_the_stretch_they_lie_in)
{
    set_up();
    dw_live_course_note_gap(&course, 1000, 0.4, false);
    dw_live_course_note_gap(&course, 5000, 0, false); // told by the device, too short to be measured
    dw_live_course_note_gap(&course, 8000, 3, true);  // away: no hole of a take
    dw_live_course_note_gap(&course, 9000, 0.1, false);
    DwLiveBefell first = dw_live_course_befell(&course, 0, 8000, 1000);
    DwLiveBefell second = dw_live_course_befell(&course, 8000, 10000, 1000);
    ck_assert_uint_eq(first.holes, 2);
    ck_assert_double_eq_tol(first.lost_s, 0.4, 1e-12);
    ck_assert_uint_eq(second.holes, 1);
    ck_assert_double_eq_tol(second.lost_s, 0.1, 1e-12);
    ck_assert_uint_eq(dw_live_course_befell(&course, 1000, 5000, 1000).holes, 0); // only between its ends
}
END_TEST

START_TEST(a_stretch_ends_where_the_device_was_away)
{
    set_up();
    DwLiveStretch stretches[DW_LIVE_STRETCHES];
    ck_assert_uint_eq(dw_live_course_stretches(&course, 0, stretches), 0);
    dw_live_course_note_gap(&course, 3000, 1, true);
    dw_live_course_note_gap(&course, 7000, 1, true);
    dw_live_course_note_gap(&course, 7000, 1, true); // away again before anything came
    ck_assert_uint_eq(dw_live_course_stretches(&course, 0, stretches), 2);
    ck_assert_uint_eq(stretches[0].from, 3000);
    ck_assert_uint_eq(stretches[0].to, 7000);
    ck_assert_uint_eq(stretches[1].from, 0);
    ck_assert_uint_eq(stretches[1].to, 3000);
    ck_assert_uint_eq(dw_live_course_stretches(&course, 5000, stretches), 1); // the older one is overwritten
    ck_assert_uint_eq(stretches[0].from, 5000);
    uint64_t start = 0;
    dw_live_course_cut(&course, &start, 20000);
    ck_assert_uint_eq(start, 7000);
    start = 0;
    dw_live_course_cut(&course, &start, 7000);
    ck_assert_uint_eq(start, 3000);
}
END_TEST

START_TEST(nothing_is_forgotten_of_a_full_course)
{
    set_up();
    dw_live_course_note_gap(&course, 5, 1, true);
    for (unsigned i = 1; i <= 1000; i++)
        dw_live_course_note_gap(&course, 10 * i, 0.01, false);
    DwLiveBefell befell = dw_live_course_befell(&course, 5, 1000000, 1000);
    ck_assert_uint_eq(befell.holes, 1000);
    ck_assert_double_eq_tol(befell.lost_s, 10, 1e-9);
    uint64_t start = 0;
    dw_live_course_cut(&course, &start, 1000000);
    ck_assert_uint_eq(start, 5);
}
END_TEST

START_TEST(a_level_counts_for_as_long_as_it_stood)
{
    set_up();
    dw_live_course_note_level(&course, 0, &(DwSourceOrigin){.gain_db = 0});
    dw_live_course_note_level(&course, 100, &(DwSourceOrigin){.gain_db = 0}); // no change
    dw_live_course_note_level(&course, 5000, &(DwSourceOrigin){.gain_db = -18});
    dw_live_course_note_level(&course, 8000, &(DwSourceOrigin){.gain_db = 0, .is_muted = true});
    dw_live_course_note_level(&course, 9000, &(DwSourceOrigin){.gain_db = 0});
    ck_assert_uint_eq(course.level_count, 4);
    DwLiveBefell before = dw_live_course_befell(&course, 0, 3000, 1000);
    ck_assert(before.least_db == 0 && before.most_db == 0 && !before.was_muted);
    DwLiveBefell just = dw_live_course_befell(&course, 0, 4500, 1000); // it may have changed before it was asked
    ck_assert(just.least_db == -18 && just.most_db == 0 && !just.was_muted);
    DwLiveBefell all = dw_live_course_befell(&course, 0, 10000, 1000);
    ck_assert(all.least_db == -18 && all.most_db == 0 && all.was_muted);
    DwLiveBefell after = dw_live_course_befell(&course, 9000, 12000, 1000);
    ck_assert(after.least_db == 0 && !after.was_muted);
    ck_assert(isnan(dw_live_course_befell(&(DwLiveCourse){0}, 0, 10, 1000).most_db));
}
END_TEST

DW_SUITE("live course", holes_count_in_the_stretch_they_lie_in, a_stretch_ends_where_the_device_was_away,
         nothing_is_forgotten_of_a_full_course, a_level_counts_for_as_long_as_it_stood)
