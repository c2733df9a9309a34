// SPDX-License-Identifier: MIT
// The rule itself is the shop's own: four tries free, then 2, 4, 8 … seconds.
#include "web/server/limit.h"

#include "support/suite.h"

static const uint32_t address = 0xC0A80114, other = 0xC0A80115;

// One wrong try at NOW, which must be looked at; then the pause it cost.
static unsigned wrong_try(DwLimit *limit, int64_t now)
{
    ck_assert_uint_eq(dw_limit_try(limit, address, now), 0);
    return dw_limit_try(limit, address, now);
}

START_TEST(the_pause_doubles_up_to_a_quarter_of_an_hour)
{
    DwLimit limit = {0};
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
    DwLimit limit = {0};
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
    DwLimit limit = {0};
    for (unsigned i = 0; i < DW_LIMIT_FREE + 1; i++)
        ck_assert_uint_eq(dw_limit_try(&limit, address, 10000), 0);
    for (unsigned i = 0; i < DW_LIMIT_FREE; i++)
        ck_assert_uint_eq(dw_limit_try(&limit, address, 10000 + DW_LIMIT_FORGOTTEN + 1), 0);
}
END_TEST

// Whoever has many addresses is slowed down too, but shuts nobody out for long.
START_TEST(all_addresses_together_wait_a_little)
{
    DwLimit limit = {0};
    unsigned tried = 0, longest = 0;
    int64_t now = 10000;
    for (uint32_t one = 1; one <= 2000; one++) {
        unsigned wait = dw_limit_try(&limit, one, now);
        tried += wait == 0;
        longest = wait > longest ? wait : longest;
        now += wait;
    }
    ck_assert_uint_le(tried, DW_LIMIT_FREE_ALL + 2000 / 2);
    ck_assert_uint_eq(longest, DW_LIMIT_LONGEST_ALL);
}
END_TEST

DW_SUITE("limit", the_pause_doubles_up_to_a_quarter_of_an_hour, an_address_waits_alone_and_a_right_one_pardons_it,
         an_hour_of_quiet_forgets, all_addresses_together_wait_a_little)
