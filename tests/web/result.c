// SPDX-License-Identifier: MIT
// Sheets that wait to be kept: by session, bounded, claimed once.
#include "web/measure/result.h"

#include "support/suite.h"

#include <stdio.h>
#include <string.h>

// Puts a sheet of the session TOKEN aside.
static void add(DwResults *results, const char *token, char key[65])
{
    DwResult result = {.inputs = dw_inputs_new(), .sheet = dw_sheet_new("speed", "Speed")};
    snprintf(result.token, sizeof result.token, "%s", token);
    dw_results_add(results, result, key);
}

START_TEST(test_only_its_session_finds_it)
{
    DwResults *results = dw_results_new();
    char key[65];
    add(results, "one", key);
    ck_assert_uint_eq(strlen(key), 64);
    ck_assert_ptr_null(dw_results_take(results, "other", key));
    ck_assert_ptr_null(dw_results_take(results, "one", "nothing"));
    const DwResult *result = dw_results_take(results, "one", key);
    ck_assert_str_eq(result->sheet->title, "Speed");
    dw_results_give_back(results, result);
    dw_results_give_back(results, NULL);
    dw_results_free(results);
}
END_TEST

// However much is measured, only the latest are held; one that a page is being
// written from is not taken away.
START_TEST(test_newer_ones_take_the_room)
{
    DwResults *results = dw_results_new();
    char first[65], second[65], key[65];
    add(results, "one", first);
    add(results, "one", second);
    const DwResult *held = dw_results_take(results, "one", first);
    for (int i = 0; i < 200; i++)
        add(results, "one", key);
    ck_assert_str_eq(held->sheet->title, "Speed");
    ck_assert_ptr_null(dw_results_take(results, "one", second));
    const DwResult *last = dw_results_take(results, "one", key);
    ck_assert_ptr_nonnull(last);
    dw_results_give_back(results, last);
    dw_results_give_back(results, held);
    dw_results_free(results);
}
END_TEST

START_TEST(test_it_is_claimed_once)
{
    DwResults *results = dw_results_new();
    char key[65];
    add(results, "one", key);
    const DwResult *result = dw_results_take(results, "one", key);
    ck_assert(dw_results_claim(results, result));
    ck_assert(!dw_results_claim(results, result));
    dw_results_unclaim(results, result);
    ck_assert(dw_results_claim(results, result));
    dw_results_give_back(results, result);
    dw_results_free(results);
}
END_TEST

DW_SUITE("result", test_only_its_session_finds_it, test_newer_ones_take_the_room, test_it_is_claimed_once)
