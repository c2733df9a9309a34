// SPDX-License-Identifier: MIT
// Source (published): the first bytes are those of the open standards, from memory: JPEG ITU-T T.81
// B.1.1; PNG ISO/IEC 15948 5.2; RIFF and RF64 EBU Tech 3306; FLAC RFC 9639 8.1;
// Ogg RFC 3533 6; MPEG audio ISO/IEC 11172-3 2.4.1; AAC ISO/IEC 13818-7 6.2;
// "ftyp" ISO/IEC 14496-12 4.3; PDF ISO 32000-1 7.5.2.
#include "base/content.h"

#include "support/suite.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define OF(text) dw_content_of((text), sizeof(text) - 1)

static void check_name(const DwContent *content, const char *name, DwContentKind kind)
{
    ck_assert_ptr_nonnull(content);
    ck_assert_str_eq(content->name, name);
    ck_assert_int_eq(content->kind, kind);
}

START_TEST(each_kind_is_told_by_its_first_bytes)
{
    check_name(OF("\xFF\xD8\xFF\xE0\0\x10JFIF"), "JPEG", DW_CONTENT_PICTURE);
    check_name(OF("\x89PNG\r\n\x1A\n\0\0\0\rIHDR"), "PNG", DW_CONTENT_PICTURE);
    check_name(OF("RIFF\x24\0\0\0WEBPVP8 "), "WebP", DW_CONTENT_PICTURE);
    check_name(OF("\0\0\0\x18"
                  "ftypheic\0\0\0\0mif1"),
               "HEIC", DW_CONTENT_PICTURE);
    check_name(OF("RIFF\x24\0\0\0WAVEfmt "), "WAV", DW_CONTENT_SOUND);
    check_name(OF("RF64\xFF\xFF\xFF\xFFWAVEds64"), "RF64", DW_CONTENT_SOUND);
    check_name(OF("FORM\0\0\0\0AIFFCOMM"), "AIFF", DW_CONTENT_SOUND);
    check_name(OF("FORM\0\0\0\0AIFCFVER"), "AIFF", DW_CONTENT_SOUND);
    check_name(OF("fLaC\0\0\0\x22"), "FLAC", DW_CONTENT_SOUND);
    check_name(OF("OggS\0\2"), "Ogg", DW_CONTENT_SOUND);
    check_name(OF("ID3\4\0"), "MP3", DW_CONTENT_SOUND);
    check_name(OF("\xFF\xFB\x90\x64"), "MP3", DW_CONTENT_SOUND);
    check_name(OF("\xFF\xF1\x50\x80"), "AAC", DW_CONTENT_SOUND);
    check_name(OF("\0\0\0\x1C"
                  "ftypM4A \0\0\0\0"),
               "M4A", DW_CONTENT_SOUND);
    check_name(OF("%PDF-1.7\n"), "PDF", DW_CONTENT_DOCUMENT);
    check_name(OF("\0\0\0\x14"
                  "ftypqt  \0\0\0\0"),
               "MOV", DW_CONTENT_SOUND);
    ck_assert(OF("\0\0\0\x14"
                 "ftypqt  \0\0\0\0")
                  ->may_be_film);
    ck_assert(!OF("\0\0\0\x1C"
                  "ftypM4A \0\0\0\0")
                   ->may_be_film);
}
END_TEST

START_TEST(what_only_looks_alike_is_nothing)
{
    ck_assert_ptr_null(OF(""));
    ck_assert_ptr_null(OF("\xFF\xD8"));
    ck_assert_ptr_null(OF("RIFF\x24\0\0\0AVI LIST"));
    ck_assert_ptr_null(OF("RIFF\x24\0\0"));
    ck_assert_ptr_null(OF("\x89PNG\n\x1A\n\0\0")); // a line end was changed on its way
    ck_assert_ptr_null(OF("<svg xmlns=\"http://www.w3.org/2000/svg\"><script>"));
    ck_assert_ptr_null(OF("<!DOCTYPE html>"));
    ck_assert_ptr_null(OF("\xFF\xFF\xFF\xFF")); // no bit rate has this number
    ck_assert_ptr_null(OF("\0\0\0\x18"
                          "ftypavif"));
    ck_assert_ptr_null(OF("PK\3\4"));
}
END_TEST

// Every shorter beginning is told without reading past its end (under the sanitizers).
START_TEST(any_length_is_looked_at_within_its_bounds)
{
    static const char whole[] = "RIFF\x24\0\0\0WAVEfmt ";
    for (size_t length = 0; length < sizeof whole; length++) {
        char *copy = malloc(length + 1);
        memcpy(copy, whole, length);
        char *exact = realloc(copy, length ? length : 1);
        ck_assert_int_eq(dw_content_of(exact, length) != NULL, length >= 12);
        free(exact);
    }
}
END_TEST

START_TEST(a_file_is_told_whatever_its_name_says)
{
    char path[] = "/tmp/deckwright-content-XXXXXX";
    int file = mkstemp(path);
    ck_assert_int_ge(file, 0);
    ck_assert_int_eq(write(file, "%PDF-1.4", 8), 8);
    close(file);
    check_name(dw_content_of_file(path), "PDF", DW_CONTENT_DOCUMENT);
    unlink(path);
    ck_assert_ptr_null(dw_content_of_file(path));
}
END_TEST

DW_SUITE("content", each_kind_is_told_by_its_first_bytes, what_only_looks_alike_is_nothing,
         any_length_is_looked_at_within_its_bounds, a_file_is_told_whatever_its_name_says)
