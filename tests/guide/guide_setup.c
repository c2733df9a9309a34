// SPDX-License-Identifier: MIT
// The order of the settings and what they do to one another. Source (trade): the consequences
// asked for here are common practice, no source, but for those of geometry.
#include "guide/guide_setup.h"

#include "base/quantity.h"
#include "support/suite.h"

#include <string.h>

enum { MOST = 64 };

static size_t place(const char *key)
{
    int found = dw_guide_setup_find(key);
    ck_assert_msg(found >= 0, "%s is no setting", key);
    return (size_t)found;
}

START_TEST(test_rows_are_whole)
{
    const DwGuideSetting *setting;
    for (size_t i = 0; (setting = dw_guide_setup_at(i)); i++) {
        ck_assert_uint_eq(place(setting->key), i); // no key twice
        ck_assert(*setting->label && *setting->help);
        bool own = strncmp(setting->key, "setup.", 6) == 0;
        ck_assert_msg(own || dw_quantity_find(setting->key), "%s is not in the catalogue", setting->key);
        if (!own)
            ck_assert_str_eq(setting->unit, dw_quantity_find(setting->key)->unit);
    }
    ck_assert_uint_le(dw_guide_setup_count(), MOST);
}
END_TEST

// What is not marked as a step back leads on in the order, so that working down
// the list once, and the marked pairs in turns, ends.
START_TEST(test_no_cycles)
{
    const DwGuideBearing *bearing;
    for (size_t i = 0; (bearing = dw_guide_setup_bearing_at(i)); i++) {
        size_t from = place(bearing->from), to = place(bearing->to);
        ck_assert_msg(bearing->back ? to < from : to > from, "%s -> %s", bearing->from, bearing->to);
        ck_assert_msg(*bearing->why && bearing->why[strlen(bearing->why) - 1] == '.', "%s", bearing->why);
        ck_assert(*bearing->source);
        const DwGuideBearing *other;
        for (size_t k = i + 1; (other = dw_guide_setup_bearing_at(k)); k++)
            ck_assert(strcmp(bearing->from, other->from) != 0 || strcmp(bearing->to, other->to) != 0);
    }
}
END_TEST

// Everything was set in order at 1, 2, 3 …; then KEY is changed.
static void change(const char *key, DwGuideTimes times[MOST])
{
    for (size_t i = 0; i < dw_guide_setup_count(); i++)
        times[i] = (DwGuideTimes){(int64_t)i + 1, (int64_t)i + 1};
    // The steps back are done: each setting was looked at once more and was still so.
    for (size_t i = 0; i < dw_guide_setup_count(); i++)
        times[i].seen = MOST + (int64_t)i;
    times[place(key)] = (DwGuideTimes){3 * MOST, 3 * MOST};
}

static void check_stale(const char *key, const char *const *expected)
{
    DwGuideTimes times[MOST];
    change(key, times);
    for (size_t i = 0; i < dw_guide_setup_count(); i++) {
        const DwGuideBearing *why = dw_guide_setup_stale(times, i);
        bool wanted = false;
        for (size_t k = 0; expected[k]; k++)
            wanted |= place(expected[k]) == i;
        ck_assert_msg(wanted == (why != NULL), "%s after %s", dw_guide_setup_at(i)->key, key);
        if (why)
            ck_assert_str_eq(why->from, key);
    }
}

START_TEST(test_known_consequences)
{
    check_stale("setup.height", (const char *const[]){"arm.overhang", "setup.azimuth", "force.reading", "rake.measured",
                                                      "setup.anti_skate", "setup.lift", NULL});
    check_stale("force.reading", (const char *const[]){"arm.overhang", "rake.measured", "setup.anti_skate",
                                                       "setup.speed", "setup.tracking", NULL});
    check_stale("setup.drive", (const char *const[]){"setup.speed", NULL});
    check_stale("setup.anti_skate", (const char *const[]){"setup.tracking", NULL});
    check_stale("setup.tracking", (const char *const[]){NULL});
    check_stale("setup.mat",
                (const char *const[]){"setup.height", "force.reading", "rake.measured", "setup.lift", NULL});
}
END_TEST

// A cartridge touches all but what it stands on.
START_TEST(test_cartridge_touches_all_that_follows)
{
    DwGuideTimes times[MOST];
    change("setup.cartridge", times);
    const char *const untouched[] = {"setup.drive", "setup.level",         "setup.suspension",     "setup.cartridge",
                                     "setup.mat",   "setup.counterweight", "arm.pivot_to_spindle", "setup.speed"};
    for (size_t i = 0; i < dw_guide_setup_count(); i++) {
        bool wanted = true;
        for (size_t k = 0; k < sizeof untouched / sizeof *untouched; k++)
            wanted &= place(untouched[k]) != i;
        ck_assert_msg(wanted == (dw_guide_setup_stale(times, i) != NULL), "%s", dw_guide_setup_at(i)->key);
    }
}
END_TEST

START_TEST(test_looking_again_settles)
{
    DwGuideTimes times[MOST] = {0};
    size_t height = place("setup.height"), azimuth = place("setup.azimuth"), overhang = place("arm.overhang"),
           offset = place("arm.offset");
    ck_assert_ptr_null(dw_guide_setup_stale(times, azimuth));
    times[azimuth] = (DwGuideTimes){10, 10};
    times[height] = (DwGuideTimes){20, 20};
    ck_assert_str_eq(dw_guide_setup_stale(times, azimuth)->from, "setup.height");
    times[azimuth].seen = 30; // and it was still so
    ck_assert_ptr_null(dw_guide_setup_stale(times, azimuth));
    // What was never set has nothing that could be doubtful.
    ck_assert_ptr_null(dw_guide_setup_stale(times, place("force.reading")));
    // Two that bear upon each other come to rest once a look changes neither.
    times[overhang] = (DwGuideTimes){40, 40};
    times[offset] = (DwGuideTimes){50, 50};
    ck_assert_ptr_nonnull(dw_guide_setup_stale(times, overhang));
    times[overhang].seen = 60;
    ck_assert_ptr_null(dw_guide_setup_stale(times, overhang));
    ck_assert_ptr_null(dw_guide_setup_stale(times, offset));
}
END_TEST

// Of several causes the latest is named.
START_TEST(test_latest_cause_is_named)
{
    DwGuideTimes times[MOST] = {0};
    times[place("force.reading")] = (DwGuideTimes){1, 1};
    times[place("setup.azimuth")] = (DwGuideTimes){9, 9};
    times[place("setup.height")] = (DwGuideTimes){5, 5};
    ck_assert_str_eq(dw_guide_setup_stale(times, place("force.reading"))->from, "setup.azimuth");
}
END_TEST

DW_SUITE("guide_setup", test_rows_are_whole, test_no_cycles, test_known_consequences,
         test_cartridge_touches_all_that_follows, test_looking_again_settles, test_latest_cause_is_named)
