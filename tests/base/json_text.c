// SPDX-License-Identifier: MIT
// The JSON writer against jansson's reader.
#include "base/json_text.h"

#include "support/suite.h"

#include <jansson.h>
#include <math.h>

static json_t *parse(DwJsonText *json)
{
    json_error_t error;
    char *text = dw_json_text_take(json);
    json_t *root = json_loads(text, 0, &error);
    ck_assert_msg(root, "%s in %s", error.text, text);
    free(text);
    return root;
}

START_TEST(what_is_written_is_read_back)
{
    static const char odd[] = "a \"quote\", a \\, a\ttab, a\nline, \x01, 33⅓";
    DwJsonText json = {0};
    dw_json_text_begin(&json, NULL, '{');
    dw_json_text_word(&json, "word", odd);
    dw_json_text_word(&json, odd, NULL);
    dw_json_text_word(&json, "empty", "");
    dw_json_text_begin(&json, "list", '[');
    dw_json_text_number(&json, NULL, 100, 3);
    dw_json_text_number(&json, NULL, -0.0004, 3);
    dw_json_text_number(&json, NULL, 1e15, 0);
    dw_json_text_number(&json, NULL, 2.5, 6);
    dw_json_text_number(&json, NULL, NAN, 3);
    dw_json_text_number(&json, NULL, -INFINITY, 3);
    dw_json_text_begin(&json, NULL, '[');
    dw_json_text_end(&json, ']');
    dw_json_text_end(&json, ']');
    dw_json_text_flag(&json, "yes", true);
    dw_json_text_count(&json, "count", 9007199254740993u);
    dw_json_text_end(&json, '}');
    json_t *root = parse(&json), *list = json_object_get(root, "list");
    ck_assert_str_eq(json_string_value(json_object_get(root, "word")), odd);
    ck_assert(json_is_null(json_object_get(root, odd)));
    ck_assert_str_eq(json_string_value(json_object_get(root, "empty")), "");
    static const double numbers[] = {100, 0, 1e15, 2.5};
    for (size_t i = 0; i < 4; i++)
        ck_assert_double_eq(json_number_value(json_array_get(list, i)), numbers[i]);
    ck_assert(json_is_null(json_array_get(list, 4)) && json_is_null(json_array_get(list, 5)));
    ck_assert_uint_eq(json_array_size(json_array_get(list, 6)), 0);
    ck_assert(json_is_true(json_object_get(root, "yes")));
    ck_assert_int_eq(json_integer_value(json_object_get(root, "count")), 9007199254740993);
    json_decref(root);
}
END_TEST

DW_SUITE("json text", what_is_written_is_read_back)
