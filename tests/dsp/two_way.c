// SPDX-License-Identifier: MIT
// Readings of rows on columns: against sums put together here, and the ± against drawn noise.
#include "dsp/two_way.h"
#include "support/suite.h"

#include <math.h>
#include <stdint.h>

static double normal(uint64_t *chance)
{
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        *chance = *chance * 6364136223846793005u + 1442695040888963407u;
        sum += (double)(*chance >> 11) / 9007199254740992.0;
    }
    return sum;
}

static const double rows[3] = {0.5, -0.2, -0.3}, columns[2] = {1, -1};
// A deck is left out with one copy, another has one twice.
static const size_t row[8] = {0, 1, 2, 0, 1, 0, 1, 2}, column[8] = {0, 0, 0, 1, 1, 0, 1, 0};

START_TEST(sums_come_apart)
{
    double reading[8];
    DwTwoWay parted;
    for (size_t i = 0; i < 8; i++)
        reading[i] = 7 + rows[row[i]] + columns[column[i]];
    ck_assert(dw_two_way(reading, row, column, 8, 3, 2, &parted));
    ck_assert_double_eq_tol(parted.common.value, 7, 1e-9);
    for (size_t i = 0; i < 3; i++)
        ck_assert_double_eq_tol(parted.row[i].value, rows[i], 1e-9);
    for (size_t i = 0; i < 2; i++)
        ck_assert_double_eq_tol(parted.column[i].value, columns[i], 1e-9);
    ck_assert_double_eq_tol(parted.rest, 0, 1e-9);
    ck_assert_uint_eq(parted.freedom, 4);
    // Two decks, 1 and −1 about the mean: 12.706 (Student's t, 1, 97.5 %) times √2 over √2; three copies: 4.303 times
    // their deviation 0.4359 over √3.
    ck_assert_double_eq_tol(parted.common.off, hypot(12.7062, 4.30265 * 0.435890 / sqrt(3)), 1e-3);
}
END_TEST

START_TEST(what_changes_together_is_not_parted)
{
    DwTwoWay parted;
    const double reading[3] = {1, 2, 3};
    ck_assert(!dw_two_way(reading, (const size_t[]){0, 1, 1}, (const size_t[]){0, 1, 1}, 3, 2, 2, &parted));
    ck_assert(!dw_two_way(reading, (const size_t[]){0, 1, 2}, (const size_t[]){0, 1, 1}, 3, 3, 2, &parted));
    // With nothing to spare there is a value and no ±.
    ck_assert(dw_two_way(reading, (const size_t[]){0, 1, 0}, (const size_t[]){0, 0, 1}, 3, 2, 2, &parted));
    ck_assert_double_eq_tol(parted.row[1].value - parted.row[0].value, 1, 1e-9);
    ck_assert(isnan(parted.row[0].off));
    // One row and one column: the mean.
    ck_assert(dw_two_way(reading, (const size_t[]){0, 0, 0}, (const size_t[]){0, 0, 0}, 3, 1, 1, &parted));
    ck_assert_double_eq_tol(parted.common.value, 2, 1e-9);
    ck_assert(isnan(parted.common.off));
}
END_TEST

START_TEST(the_interval_holds_nineteen_times_of_twenty)
{
    uint64_t chance = 5;
    int held = 0, cases = 2000;
    for (int n = 0; n < cases; n++) {
        double reading[8];
        DwTwoWay parted;
        for (size_t i = 0; i < 8; i++)
            reading[i] = rows[row[i]] + columns[column[i]] + 0.1 * normal(&chance);
        ck_assert(dw_two_way(reading, row, column, 8, 3, 2, &parted));
        held += fabs(parted.row[2].value - rows[2]) <= parted.row[2].off;
        held += fabs(parted.column[1].value - columns[1]) <= parted.column[1].off;
    }
    ck_assert_double_eq_tol(0.5 * held / cases, 0.95, 0.015);
}
END_TEST

DW_SUITE("two_way", sums_come_apart, what_changes_together_is_not_parted, the_interval_holds_nineteen_times_of_twenty)
