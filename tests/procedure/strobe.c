// SPDX-License-Identifier: MIT
#include "procedure/call.h"

#include <math.h>
#include <stdio.h>
#include <unistd.h>

START_TEST(the_ring_of_45_at_50_hz_is_said_plainly)
{
    DwSheet *sheet = call_well("strobe", "deck.speed=45 deck.mains=50");
    ck_assert_double_eq(value(sheet, "strobe.bars"), 133);
    ck_assert_double_eq_tol(value(sheet, "strobe.standing"), 45.11278, 6e-6);
    ck_assert(says(sheet->remarks, sheet->remark_count, "stand still at 45.11 rpm, 0.25 % fast for 45"));
    ck_assert(says(sheet->remarks, sheet->remark_count, "backward at 15.0 bars a minute"));
    ck_assert(is_not_measured(sheet, "strobe.error"));
    ck_assert(says(sheet->cautions, sheet->caution_count, "Flicker"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(drifting_bars_give_the_error)
{
    static const struct {
        const char *operands;
        double error;
    } cases[] = {
        {"deck.speed=45 deck.mains=50 strobe.drift=-15", 0},
        {"deck.speed=45 deck.mains=50 strobe.drift=0", 0.2506},
        {"deck.mains=50 strobe.drift=6", 0.1},
        {"deck.mains=60 strobe.drift=-7.2", -0.1},
        {"deck.speed=45 deck.mains=50 strobe.ring=400 strobe.drift=18", 0.1},
        {"deck.speed=45 strobe.flash=300Hz strobe.drift=18", 0.1},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        DwSheet *sheet = call_well("strobe", cases[i].operands);
        ck_assert_double_eq_tol(value(sheet, "strobe.error"), cases[i].error, 6e-5);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(half_steps_are_seen_as_twice_the_bars)
{
    // By hand: at 33⅓ and 100 flashes a second 90 bars pass 0.5 at a time; 6000 · ½ / 90 = 33⅓. 66 or 67 bars at 45
    // and 100 flashes: 0.5 too, standing at 3000/67 = 44.776.
    DwSheet *sheet = call_well("strobe", "deck.mains=50 strobe.ring=90 strobe.drift=6");
    ck_assert_double_eq_tol(value(sheet, "strobe.standing"), 100.0 / 3, 1e-9);
    ck_assert_double_eq_tol(value(sheet, "strobe.standing_error"), 0, 1e-9);
    ck_assert_double_eq_tol(value(sheet, "strobe.error"), 0.1, 1e-9); // 6 of the 6000 seen in a minute
    ck_assert(says(sheet->remarks, sheet->remark_count, "180 paler bars"));
    dw_sheet_free(sheet);
    sheet = call_well("strobe", "deck.speed=45 deck.mains=50 strobe.ring=67");
    ck_assert_double_eq_tol(value(sheet, "strobe.standing"), 44.7761, 6e-5);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(thirds_and_quarters_are_seen_as_more_bars)
{
    // By hand: at 33⅓ and 300 flashes a second 180 bars pass a third at a time, 135 a quarter; 360 two thirds.
    static const int rings[][2] = {{180, 540}, {135, 540}, {360, 1080}};
    for (size_t i = 0; i < sizeof rings / sizeof *rings; i++) {
        char operands[80], words[40];
        snprintf(operands, sizeof operands, "strobe.flash=300Hz strobe.ring=%d strobe.drift=0", rings[i][0]);
        snprintf(words, sizeof words, "%d paler bars", rings[i][1]);
        DwSheet *sheet = call_well("strobe", operands);
        ck_assert_double_eq_tol(value(sheet, "strobe.speed"), 100.0 / 3, 1e-9);
        ck_assert_msg(says(sheet->remarks, sheet->remark_count, words), "%d bars", rings[i][0]);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(a_ring_has_whole_bars_and_the_mains_its_doubt)
{
    DwMessage message = {""};
    ck_assert_ptr_null(call("strobe", "deck.mains=50 strobe.ring=180.5", &message));
    ck_assert_ptr_nonnull(strstr(message.text, "whole number of bars"));
    // One bar of 6000 is 0.0167 %; the mains 0.1 %: together 0.1014 %.
    DwSheet *sheet = call_well("strobe", "deck.mains=50 strobe.drift=0");
    ck_assert_double_eq_tol(dw_sheet_reading(sheet, "strobe.error")->uncertainty, 0.1014, 5e-5);
    dw_sheet_free(sheet);
}
END_TEST

static DwStatus print_to(const char *path, const char *operand, DwMessage *message)
{
    DwInputs *inputs = dw_inputs_new();
    ck_assert_int_eq(dw_inputs_set_operand(inputs, operand, NULL), DW_OK);
    DwStatus status = dw_procedure_find("strobe")->print(&(DwRequest){.inputs = inputs}, path, message);
    dw_inputs_free(inputs);
    return status;
}

START_TEST(the_disc_is_printed_but_not_for_lamps_that_harm)
{
    char path[] = "strobe-disc-XXXXXX";
    DwMessage message;
    int file = mkstemp(path);
    ck_assert_int_ge(file, 0);
    ck_assert_int_eq(print_to(path, "strobe.flash=300Hz", &message), DW_OK);
    FILE *disc = fopen(path, "rb");
    char head[5] = "";
    ck_assert_uint_eq(fread(head, 1, 4, disc), 4);
    ck_assert_str_eq(head, "%PDF");
    fclose(disc);
    ck_assert_int_eq(print_to(path, "strobe.flash=25Hz", &message), DW_BAD_INPUT);
    ck_assert_ptr_nonnull(strstr(message.text, "seizures"));
    ck_assert_int_eq(print_to(path, "strobe.flash=1000Hz", &message), DW_BAD_INPUT);
    ck_assert_ptr_nonnull(strstr(message.text, "too fine"));
    ck_assert_int_eq(print_to("/nowhere/at/all.pdf", "strobe.paper=letter", &message), DW_FAILED);
    close(file);
    unlink(path);
    DwSheet *sheet = call_well("strobe", "strobe.flash=25Hz");
    ck_assert(says(sheet->cautions, sheet->caution_count, "seizures"));
    dw_sheet_free(sheet);
}
END_TEST

DW_SUITE("strobe", half_steps_are_seen_as_twice_the_bars, thirds_and_quarters_are_seen_as_more_bars,
         a_ring_has_whole_bars_and_the_mains_its_doubt, the_ring_of_45_at_50_hz_is_said_plainly,
         drifting_bars_give_the_error, the_disc_is_printed_but_not_for_lamps_that_harm)
