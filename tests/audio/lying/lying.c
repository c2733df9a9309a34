// SPDX-License-Identifier: MIT
// What a decoder remarks on is taken for nothing but words: one whose pattern, parts or number do not fit is told by
// its text alone, and one that is no remark ends the reading with a line. The program beside this one tells the lies.
#include "audio/source.h"
#include "support/suite.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

static DwStatus open_lie(const char *lie, DwSource **source, DwMessage *message)
{
    FILE *file = fopen(lie, "we"); // only its beginning is looked at, by which it is some WAV
    ck_assert_ptr_nonnull(file);
    fwrite("RIFF\44\0\0\0WAVEfmt \20\0\0\0\1\0\2\0\200\273\0\0\0\356\2\0\4\0\20\0data\0\0\0\0", 1, 44, file);
    fclose(file);
    DwStatus status = dw_source_open(lie, source, message);
    unlink(lie);
    return status;
}

START_TEST(a_remark_that_fits_is_kept_in_parts)
{
    DwSource *source;
    DwMessage message = {""};
    ck_assert_msg(open_lie("true", &source, &message) == DW_OK, "%s", message.text);
    const DwSaying *remark = dw_source_remark(source, 0);
    ck_assert_str_eq(remark->pattern, "It has %u channels.");
    ck_assert_str_eq(remark->parts[0], "6");
    dw_source_close(source);
}
END_TEST

START_TEST(one_that_does_not_is_its_text)
{
    static const char *const lies[] = {"few-parts", "many-parts", "bad-place", "other-places", "no-end", "phrase"};
    for (size_t i = 0; i < sizeof lies / sizeof *lies; i++) {
        DwSource *source;
        DwMessage message = {""};
        ck_assert_msg(open_lie(lies[i], &source, &message) == DW_OK, "%s: %s", lies[i], message.text);
        const DwSaying *remark = dw_source_remark(source, 0);
        ck_assert_ptr_nonnull(remark);
        ck_assert_msg(strlen(remark->text) < 2000 && !remark->text[strcspn(remark->text, "\1\2\3\n")], "%s", lies[i]);
        if (strcmp(lies[i], "phrase") != 0)
            ck_assert_msg(!remark->pattern, "%s: %s", lies[i], remark->pattern);
        else
            ck_assert_ptr_null(strpbrk(remark->parts[0], "\1\2\3"));
        ck_assert_ptr_null(dw_source_remark(source, 1));
        dw_source_close(source);
    }
}
END_TEST

START_TEST(what_is_no_remark_or_never_ends_is_refused)
{
    static const char *const lies[] = {"block", "hundreds"};
    for (size_t i = 0; i < sizeof lies / sizeof *lies; i++) {
        DwSource *source = NULL;
        DwMessage message = {""};
        ck_assert_msg(open_lie(lies[i], &source, &message) != DW_OK, "%s", lies[i]);
        ck_assert_msg(*message.text && !strchr(message.text, '\n') && !strstr(message.text, "known format"), "%s: %s",
                      lies[i], message.text);
    }
}
END_TEST

DW_SUITE("lying", a_remark_that_fits_is_kept_in_parts, one_that_does_not_is_its_text,
         what_is_no_remark_or_never_ends_is_refused)
