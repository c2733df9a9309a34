// SPDX-License-Identifier: MIT
// A sheet put together from parts, its inputs with their sources, and the words that stand for keys.
#include "base/inputs.h"
#include "base/memory.h"
#include "base/quantity.h"
#include "base/sheet.h"
#include "support/suite.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void expect(char *got, const char *wanted)
{
    ck_assert_str_eq(got, wanted);
    free(got);
}

START_TEST(a_part_is_taken_whole)
{
    static const char *const columns[] = {"a|A|s|1", NULL};
    DwSheet *sheet = dw_sheet_new("speed", "Speed"), *part = dw_sheet_new("noise", "Noise");
    dw_sheet_add_reading(sheet, "tone.frequency", "Tone", 3150, "Hz", 1);
    dw_sheet_add_estimate(part, "noise.rumble", "Rumble", -60, "dB", 1, INFINITY, "by ear");
    dw_table_add_row(dw_sheet_add_table(part, "noise.lines", "Lines", columns));
    dw_sheet_remark(part, "It hums.");
    dw_sheet_caution(part, "Unplug it.");
    ck_assert(isnan(dw_sheet_reading(part, "noise.rumble")->uncertainty));
    dw_sheet_take(sheet, part);
    ck_assert_uint_eq(sheet->reading_count, 2);
    ck_assert(dw_sheet_reading(sheet, "noise.rumble") && dw_sheet_table(sheet, "noise.lines"));
    ck_assert(!dw_sheet_table(sheet, "noise.none") && !dw_sheet_curve(sheet, "none") &&
              !dw_sheet_raster(sheet, "none"));
    ck_assert(sheet->remark_count == 1 && sheet->caution_count == 1);
    ck_assert(dw_sheet_put_first(sheet, "noise.rumble") && strcmp(sheet->readings[0].key, "noise.rumble") == 0);
    ck_assert(!dw_sheet_put_first(sheet, "noise.none") && strcmp(sheet->readings[1].key, "tone.frequency") == 0);
    ck_assert(!dw_sheet_is_flagged(sheet));
    sheet->readings[1].flags = DW_FLAG_SHORT;
    ck_assert(dw_sheet_is_flagged(sheet));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(verdicts_and_flags_have_their_own_words)
{
    for (DwVerdict a = DW_VERDICT_GOOD; a <= DW_VERDICT_NOT_TESTED; a++)
        for (DwVerdict b = DW_VERDICT_NONE; b < a; b++)
            ck_assert_str_ne(dw_verdict_word(a), dw_verdict_word(b));
    ck_assert_str_eq(dw_verdict_word(DW_VERDICT_NONE), "");
    for (unsigned a = 0; a < DW_FLAG_COUNT; a++)
        for (unsigned b = 0; b < a; b++)
            ck_assert_str_ne(dw_flag_word(1u << a), dw_flag_word(1u << b));
    ck_assert_str_eq(dw_flag_word(1u << DW_FLAG_COUNT), "");
}
END_TEST

START_TEST(what_is_missing_is_called_by_its_name)
{
    char *label = dw_memory_text(dw_quantity_find("arm.effective_length")->label);
    expect(dw_sheet_missing_name("arm.effective_length"), label);
    expect(dw_sheet_missing_name("load.preamp_noise"), "Load, preamp noise");
    expect(dw_sheet_missing_name("lowsweep.compliance_vertical"), "Compliance at the resonance, vertical");
    expect(dw_sheet_missing_name("intermod.bands"), "Intermodulation");
    expect(dw_sheet_missing_name("rumble_weighted"), "Rumble weighted");
    static const char sentence[] = "Give arm.effective_length=231mm. or a/arm.effective_length, not arm.nothing.";
    char wanted[300];
    snprintf(wanted, sizeof wanted, "Give “%s” 231mm. or a/arm.effective_length, not arm.nothing.", label);
    expect(dw_quantity_words(sentence), wanted);
    expect(dw_quantity_words("Nothing to see."), "Nothing to see.");
    snprintf(wanted, sizeof wanted, "“%s” belt, then", dw_quantity_find("drive.kind")->label);
    expect(dw_quantity_words("drive.kind=belt, then"), wanted);
    free(label);
}
END_TEST

START_TEST(a_choice_is_found_where_it_begins)
{
    const DwQuantity *kind = dw_quantity_find("drive.kind"), *length = dw_quantity_find("arm.effective_length");
    size_t span = 0;
    expect(dw_quantity_choice_at(kind, "idler. And more", &span), "idler");
    ck_assert_uint_eq(span, 5);
    ck_assert_ptr_null(dw_quantity_choice_at(kind, "idlers", &span));
    ck_assert_ptr_null(dw_quantity_choice_at(kind, "", &span));
    ck_assert_ptr_null(dw_quantity_choice_at(length, "231mm", &span));
}
END_TEST

START_TEST(a_remark_is_taken_over_with_its_parts_and_once)
{
    DwSheet *from = dw_sheet_new("speed", "Speed"), *sheet = dw_sheet_new("speed", "Speed");
    dw_sheet_remark(from, "It ends after %.1f seconds (%s).", 2.5, "no more came");
    dw_sheet_remark_as(sheet, &from->remarks[0]);
    dw_sheet_remark_once(sheet, "It ends after %.1f seconds (%s).", 2.5, "no more came");
    dw_sheet_remark_once(sheet, "It ends after %.1f seconds (%s).", 3.5, "no more came");
    dw_sheet_free(from);
    ck_assert_uint_eq(sheet->remark_count, 2);
    const DwSaying *first = &sheet->remarks[0], *second = &sheet->remarks[1];
    ck_assert_str_eq(first->text, "It ends after 2.5 seconds (no more came).");
    ck_assert_str_eq(first->pattern, "It ends after %.1f seconds (%s).");
    ck_assert_uint_eq(first->part_count, 2);
    ck_assert_str_eq(first->parts[0], "2.5");
    ck_assert_str_eq(first->parts[1], "no more came");
    ck_assert_str_eq(second->text, "It ends after 3.5 seconds (no more came).");
    ck_assert_str_eq(second->parts[0], "3.5");
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(inputs_tell_where_they_are_from)
{
    char day[11];
    DwInputs *inputs = dw_inputs_new();
    dw_inputs_name_source(inputs, "noted of the deck", "2026-03-01");
    ck_assert_int_eq(dw_inputs_set(inputs, "arm.effective_length", "231 mm", NULL), DW_OK);
    ck_assert(!dw_inputs_given_before(inputs, "arm.effective_length"));
    dw_inputs_begin_source(inputs);
    ck_assert(dw_inputs_given_before(inputs, "arm.effective_length"));
    ck_assert_str_eq(dw_inputs_source(inputs, "arm.effective_length", day), "noted of the deck");
    ck_assert_str_eq(day, "2026-03-01");
    ck_assert_str_eq(dw_inputs_source(inputs, "arm.offset", day), "");
    ck_assert_int_eq(dw_inputs_set(inputs, "found.error_at", "66 mm:0.5 deg", NULL), DW_OK);
    DwSheet *sheet = dw_sheet_new("align", "Alignment");
    dw_sheet_add_input(sheet, inputs, dw_quantity_find("arm.effective_length"));
    dw_sheet_add_input(sheet, inputs, dw_quantity_find("found.error_at"));
    dw_sheet_add_input(sheet, inputs, dw_quantity_find("deck.class"));
    ck_assert(sheet->input_count >= 2 && sheet->inputs[0].given);
    ck_assert_str_eq(sheet->inputs[1].key, "found.error_at");
    dw_sheet_free(sheet);
    dw_inputs_free(inputs);
}
END_TEST

START_TEST(a_raster_begins_empty)
{
    DwSheet *sheet = dw_sheet_new("speed", "Speed");
    DwAxis across = {.label = "Angle", .unit = "deg"}, down = {.label = "Turn", .unit = ""};
    DwRaster *raster = dw_sheet_add_raster(sheet, "revolution.raster", "Turns", across, down, "%", 3, 4);
    for (size_t i = 0; i < 12; i++)
        ck_assert(isnan(raster->values[i]));
    ck_assert_ptr_eq(dw_sheet_raster(sheet, "revolution.raster"), raster);
    dw_sheet_free(sheet);
}
END_TEST

DW_SUITE("sheet_whole", a_part_is_taken_whole, verdicts_and_flags_have_their_own_words,
         what_is_missing_is_called_by_its_name, a_choice_is_found_where_it_begins,
         a_remark_is_taken_over_with_its_parts_and_once, inputs_tell_where_they_are_from, a_raster_begins_empty)
