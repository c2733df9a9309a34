// SPDX-License-Identifier: MIT
#include "base/keyfile.h"
#include "support/suite.h"

#include <string.h>

START_TEST(groups_keys_and_lines_are_kept_in_order)
{
    const char *text = "# a deck\n[deck]\nspeed = 45 rpm\n\n[band 1]\nkind=tone\n[band 2]\nkind = sweep\n";
    DwKeyfile file;
    ck_assert_int_eq(dw_keyfile_parse(text, strlen(text), "x.deck", &file, NULL), DW_OK);
    ck_assert_uint_eq(file.count, 3);
    ck_assert_str_eq(file.lines[0].group, "deck");
    ck_assert_str_eq(file.lines[0].value, "45 rpm");
    ck_assert_uint_eq(file.lines[0].line, 3);
    ck_assert_str_eq(dw_keyfile_value(&file, "band 2", "kind"), "sweep");
    ck_assert_ptr_null(dw_keyfile_value(&file, "band 3", "kind"));
    dw_keyfile_clear(&file);
}
END_TEST

START_TEST(a_bad_line_is_named)
{
    const char *text = "[deck]\nspeed = 45\nwhat is this\n";
    DwKeyfile file;
    DwMessage message;
    ck_assert_int_eq(dw_keyfile_parse(text, strlen(text), "x.deck", &file, &message), DW_BAD_INPUT);
    ck_assert_msg(strstr(message.text, "x.deck: line 3"), "%s", message.text);
    ck_assert_int_eq(dw_keyfile_read("/nonexistent/x.deck", &file, &message), DW_BAD_INPUT);
}
END_TEST

DW_SUITE("keyfile", groups_keys_and_lines_are_kept_in_order, a_bad_line_is_named)
