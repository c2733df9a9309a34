// SPDX-License-Identifier: MIT
// The rule itself is the shop's own: four tries free, then 2, 4, 8 … seconds.
#include "web/server/limit.h"

#include "support/suite.h"

static const uint64_t address = 0xC0A80114, other = 0xC0A80115;

// One wrong try at NOW, which must be looked at; then the pause it cost.
static unsigned wrong_try(DwTryLimit *limit, int64_t now)
{
    ck_assert_uint_eq(dw_limit_try(limit, address, now), 0);
    return dw_limit_try(limit, address, now);
}

START_TEST(the_pause_doubles_up_to_a_quarter_of_an_hour)
{
    DwTryLimit limit = {0};
    int64_t now = 10000;
    for (unsigned i = 0; i < DW_LIMIT_FREE; i++)
        ck_assert_uint_eq(dw_limit_try(&limit, address, now), 0);
    static const unsigned expected[] = {2, 4, 8, 16, 32, 64, 128, 256, 512, 900, 900, 900};
    for (size_t i = 0; i < sizeof expected / sizeof *expected; i++) {
        ck_assert_uint_eq(wrong_try(&limit, now), expected[i]);
        now += expected[i];
    }
}
END_TEST

START_TEST(an_address_waits_alone_and_a_right_one_pardons_it)
{
    DwTryLimit limit = {0};
    for (unsigned i = 0; i < DW_LIMIT_FREE + 1; i++)
        ck_assert_uint_eq(dw_limit_try(&limit, address, 10000), 0);
    ck_assert_uint_eq(dw_limit_try(&limit, address, 10000), 2);
    ck_assert_uint_eq(dw_limit_try(&limit, address, 10001), 1);
    ck_assert_uint_eq(dw_limit_try(&limit, other, 10000), 0);
    ck_assert_uint_eq(dw_limit_try(&limit, address, 10002), 0);
    dw_limit_pardon(&limit, address);
    for (unsigned i = 0; i < DW_LIMIT_FREE; i++)
        ck_assert_uint_eq(dw_limit_try(&limit, address, 10003), 0);
}
END_TEST

START_TEST(an_hour_of_quiet_forgets)
{
    DwTryLimit limit = {0};
    for (unsigned i = 0; i < DW_LIMIT_FREE + 1; i++)
        ck_assert_uint_eq(dw_limit_try(&limit, address, 10000), 0);
    for (unsigned i = 0; i < DW_LIMIT_FREE; i++)
        ck_assert_uint_eq(dw_limit_try(&limit, address, 10000 + DW_LIMIT_FORGOTTEN + 1), 0);
}
END_TEST

// Whoever has many addresses is slowed down, and shuts nobody out: whoever was not
// wrong yet is looked at, at every moment of it.
START_TEST(many_addresses_shut_nobody_out)
{
    enum { MANY = 200, HOUR = 3600 };
    static DwTryLimit limit;
    unsigned tried = 0, newcomers = 0;
    for (int64_t now = 10000; now < 10000 + 24 * HOUR; now++) {
        for (uint64_t one = 1; one <= MANY; one++)
            tried += dw_limit_try(&limit, one, now) == 0;
        if (now % HOUR == 0) {
            ck_assert_uint_eq(dw_limit_try(&limit, 1000000 + (uint64_t)now, now), 0);
            newcomers++;
        }
    }
    ck_assert_uint_eq(newcomers, 24);
    // In a day each address has some ten quick tries and one in a quarter of an hour.
    ck_assert_uint_le(tried, MANY * (14 + 24 * HOUR / DW_LIMIT_LONGEST));
}
END_TEST

// While somebody guesses, one wrong try is free.
START_TEST(guessing_makes_it_dearer)
{
    static DwTryLimit limit;
    for (uint64_t one = 1; one <= DW_LIMIT_ALARM; one++)
        ck_assert_uint_eq(dw_limit_try(&limit, one, 10000), 0);
    ck_assert_uint_eq(dw_limit_try(&limit, address, 10000), 0);
    ck_assert_uint_eq(dw_limit_try(&limit, address, 10000), 0);
    ck_assert_uint_eq(dw_limit_try(&limit, address, 10000), 2);
    dw_limit_pardon(&limit, address);
    ck_assert_uint_eq(dw_limit_try(&limit, address, 10000), 0);
}
END_TEST

START_TEST(more_than_can_be_counted_are_still_looked_at)
{
    static DwTryLimit limit;
    for (uint64_t one = 1; one <= 3 * DW_LIMIT_KNOWN; one++)
        ck_assert_uint_eq(dw_limit_try(&limit, one, 10000 + (int64_t)one), 0);
    ck_assert_uint_eq(dw_limit_try(&limit, address, 10000 + 4 * DW_LIMIT_KNOWN), 0);
}
END_TEST

DW_SUITE("limit", the_pause_doubles_up_to_a_quarter_of_an_hour, an_address_waits_alone_and_a_right_one_pardons_it,
         an_hour_of_quiet_forgets, many_addresses_shut_nobody_out, guessing_makes_it_dearer,
         more_than_can_be_counted_are_still_looked_at)
