// SPDX-License-Identifier: MIT
#include "base/inputs.h"
#include "support/suite.h"

#include <math.h>
#include <string.h>

START_TEST(values_are_held_in_the_catalogue_unit)
{
    DwInputs *inputs = dw_inputs_new();
    ck_assert_int_eq(dw_inputs_set_operand(inputs, "arm.pivot_to_spindle=22.2cm", NULL), DW_OK);
    ck_assert_int_eq(dw_inputs_set_operand(inputs, "arm.effective_length=9.42in", NULL), DW_OK);
    ck_assert_double_eq_tol(dw_inputs_number(inputs, "arm.pivot_to_spindle"), 222, 1e-9);
    ck_assert_double_eq_tol(dw_inputs_number(inputs, "arm.effective_length"), 239.268, 1e-9);
    ck_assert(isnan(dw_inputs_number(inputs, "arm.offset")));
    ck_assert_double_eq_tol(dw_inputs_number(inputs, "deck.speed"), 100.0 / 3, 1e-9);
    ck_assert(!dw_inputs_given(inputs, "deck.speed"));
    dw_inputs_free(inputs);
}
END_TEST

START_TEST(a_later_source_replaces_an_earlier_one)
{
    DwInputs *inputs = dw_inputs_new();
    dw_inputs_set(inputs, "deck.speed", "45", NULL);
    dw_inputs_begin_source(inputs);
    dw_inputs_set(inputs, "deck.speed", "78.26", NULL);
    ck_assert_double_eq_tol(dw_inputs_number(inputs, "deck.speed"), 78.26, 1e-9);
    ck_assert_uint_eq(dw_inputs_count(inputs, "deck.speed"), 1);
    dw_inputs_free(inputs);
}
END_TEST

START_TEST(bad_input_is_one_line_and_changes_nothing)
{
    static const char *const bad[][2] = {
        {"deck.sped=45", "Did you mean deck.speed?"},
        {"speed=45", "Did you mean deck.speed?"},
        {"arm.offset=twenty", "is not a number"},
        {"arm.offset=20mm", "is not a unit"},
        {"deck.speed=9999", "out of range"},
        {"deck.class=nonsense", "not one of its choices"},
        {"found.error_at=66mm:50deg", "from -45 to 45 deg"},
        {"found.error_at=66mm", "two values with a colon"},
        {"deck.class=", "no value given"},
        {"deck.speed", "key=value"},
    };
    DwInputs *inputs = dw_inputs_new();
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        DwMessage message = {""};
        ck_assert_int_eq(dw_inputs_set_operand(inputs, bad[i][0], &message), DW_BAD_INPUT);
        ck_assert_msg(strstr(message.text, bad[i][1]), "%s: %s", bad[i][0], message.text);
        ck_assert_msg(!strchr(message.text, '\n'), "%s", message.text);
    }
    ck_assert(!dw_inputs_given(inputs, "deck.speed"));
    dw_inputs_free(inputs);
}
END_TEST

START_TEST(every_row_of_the_catalogue_is_sound)
{
    const DwQuantity *row;
    for (size_t i = 0; (row = dw_quantity_at(i)); i++) {
        ck_assert_msg(strchr(row->key, '.'), "%s", row->key);
        ck_assert_ptr_eq(dw_quantity_find(row->key), row); // no key twice
        ck_assert_msg(row->label && *row->label, "%s has no label", row->key);
        ck_assert_msg(row->help && *row->help, "%s has no help", row->key);
        if (row->kind == DW_QUANTITY_NUMBER || row->kind == DW_QUANTITY_PAIR)
            ck_assert_msg(row->unit && dw_unit_find(row->dimension, row->unit), "%s: unit", row->key);
        if (row->kind == DW_QUANTITY_PAIR)
            ck_assert_msg(row->second_unit && dw_unit_find(row->second_dimension, row->second_unit), "%s", row->key);
        if (row->kind == DW_QUANTITY_CHOICE)
            ck_assert_msg(row->choices && (!row->preset || dw_quantity_has_choice(row, row->preset)), "%s", row->key);
        if (row->kind == DW_QUANTITY_NUMBER && row->preset)
            ck_assert_int_eq(dw_quantity_read(row, row->preset, &(double){0}, NULL, NULL), DW_OK);
        if (dw_range_is_set(row->plausible) && dw_range_is_set(row->possible))
            ck_assert_msg(row->plausible.low >= row->possible.low && row->plausible.high <= row->possible.high, "%s",
                          row->key);
    }
}
END_TEST

DW_SUITE("inputs", values_are_held_in_the_catalogue_unit, a_later_source_replaces_an_earlier_one,
         bad_input_is_one_line_and_changes_nothing, every_row_of_the_catalogue_is_sound)
