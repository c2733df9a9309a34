// SPDX-License-Identifier: MIT
// What is boxed can do no harm, and how it ends is told.
#include "base/box.h"
#include "support/suite.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char program[] = "box-misbehave";

static DwStrongBox *opened(const char *what, const char *path)
{
    const char *const arguments[] = {program, what, path, NULL};
    DwStrongBox *box = NULL;
    DwMessage message = {""};
    ck_assert_msg(dw_box_open(program, arguments, &box, &message) == DW_OK, "%s", message.text);
    char shut = 0;
    ck_assert(dw_box_read(box, &shut, 1));
    ck_assert_int_eq(shut, 1);
    return box;
}

START_TEST(what_is_boxed_can_do_no_harm)
{
    static const char *const attempts[] = {"IPv4",
                                           "IPv6",
                                           "a local socket",
                                           "writing to a file",
                                           "a file of its own",
                                           "a signal",
                                           "removing a file",
                                           "another program",
                                           "other limits",
                                           "more memory"};
    char path[] = "/tmp/deckwright-box-XXXXXX", did[10];
    close(mkstemp(path));
    DwStrongBox *box = opened("harm", path);
    ck_assert(dw_box_read(box, did, sizeof did));
#if defined __SANITIZE_ADDRESS__ || defined __SANITIZE_THREAD__
    did[9] = 0; // whose shadow needs it
#endif
    for (size_t i = 0; i < sizeof did; i++)
        ck_assert_msg(!did[i], "%s was let through", attempts[i]);
    ck_assert(!dw_box_read(box, did, 1));
    dw_box_close(box);
    ck_assert_int_eq(access(path, F_OK), 0);
    unlink(path);
}
END_TEST

START_TEST(how_it_ended_is_told)
{
    char byte;
    DwStrongBox *box = opened("crash", "");
    ck_assert(!dw_box_read(box, &byte, 1));
    ck_assert_str_eq(dw_box_trouble(box), "the decoder broke down on it");
    dw_box_close(box);
    box = opened("stop", "");
    ck_assert(!dw_box_read(box, &byte, 1));
    ck_assert_str_eq(dw_box_trouble(box), "the decoder gave up on it");
    ck_assert_str_eq(dw_box_trouble(box), "the decoder gave up on it");
    dw_box_close(box);
}
END_TEST

START_TEST(one_that_is_not_there_is_named)
{
    const char *const arguments[] = {"deckwright-nothing", NULL};
    DwStrongBox *box = NULL;
    DwMessage message = {""};
    ck_assert_int_eq(dw_box_open(arguments[0], arguments, &box, &message), DW_FAILED);
    ck_assert_ptr_nonnull(strstr(message.text, "deckwright-nothing is not there"));
    dw_box_close(NULL);
}
END_TEST

DW_SUITE("box", what_is_boxed_can_do_no_harm, how_it_ended_is_told, one_that_is_not_there_is_named)
