// SPDX-License-Identifier: MIT
// Source (published): the forms are those of the WHATWG URL Standard 5.1 and of RFC 7578 (2015), the
// broken characters those of RFC 3629 (2003) 3 and 4, all from memory.
#include "web/server/body.h"

#include "base/memory.h"
#include "base/text.h"
#include "support/suite.h"
#include "web/server/part_head.h"

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#define PARTS "multipart/form-data; boundary=\"m m\""
#define ENCODED "application/x-www-form-urlencoded"
// Every script, and the bytes that a mark begins with.
#define WORDS "größe ω ж ש ش 转 盤 🎛️ e\xCC\x81 \r\n--m \r\n--m n\r\r\n-"

typedef struct {
    DwText names; // of the files in their order, each behind its field
    char bytes[4096];
    size_t length;
} Files;

static void begin(void *context, const char *field, const char *name)
{
    dw_text_add(&((Files *)context)->names, "%s:%s;", field, name);
}

static void more(void *context, const char *bytes, size_t length)
{
    Files *files = context;
    ck_assert_uint_le(files->length + length, sizeof files->bytes);
    memcpy(files->bytes + files->length, bytes, length);
    files->length += length;
}

// Reads LENGTH bytes in pieces that end at the places FIRST and SECOND, or of one byte when FIRST is 0.
static DwBody *read_cut(const char *type, const char *bytes, size_t length, size_t first, size_t second, Files *files)
{
    *files = (Files){0};
    DwBody *body = dw_body_new(type, (DwBodyFiles){begin, more, files});
    for (size_t at = 0, end; at < length; at = end) {
        end = first == 0 ? at + 1 : at < first ? first : at < second ? second : length;
        char *exact = dw_memory_new(end - at, 1); // so that reading beyond is seen by the sanitizers
        memcpy(exact, bytes + at, end - at);
        dw_body_push(body, exact, end - at);
        free(exact);
    }
    dw_body_end(body);
    return body;
}

static const char *field(const DwBody *body, const char *name)
{
    const char *value = dw_pairs_find(dw_body_fields(body), name);
    return value ? value : "(none)";
}

static const char parts[] =
    "before\r\n--m m\r\nContent-Disposition: form-data; name=\"words\"\r\n\r\n" WORDS
    "\r\n--m m \t\r\ncontent-disposition: form-data; name=empty\r\nX: y\r\n\r\n"
    "\r\n--m m\r\nContent-Disposition: form-data; name=\"f\"; filename=\"a\\\"%22 ä;b.wav\"\r\n\r\n"
    "\0\xFF" WORDS "\r\n--m m\r\nContent-Disposition: form-data; name=\"last\"\r\n\r\n\r\n--m m--after";

static void check_parts(DwBody *body, Files *files)
{
    static const char sent[] = "\0\xFF" WORDS;
    ck_assert_int_eq(dw_body_end(body), DW_BODY_WHOLE);
    ck_assert_uint_eq(dw_body_fields(body)->count, 3);
    ck_assert_str_eq(field(body, "words"), "größe ω ж ש ش 转 盤 🎛️ e\xCC\x81 \n--m \n--m n\n\n-");
    ck_assert_str_eq(field(body, "empty"), "");
    ck_assert_str_eq(field(body, "last"), "");
    ck_assert_str_eq(files->names.chars, "f:a\"\" ä;b.wav;");
    ck_assert_uint_eq(files->length, sizeof sent - 1);
    ck_assert_mem_eq(files->bytes, sent, sizeof sent - 1);
    dw_body_free(body);
    dw_text_clear(&files->names);
}

START_TEST(where_a_piece_ends_changes_nothing)
{
    Files files;
    size_t length = sizeof parts - 1;
    check_parts(read_cut(PARTS, parts, length, 0, 0, &files), &files);
    for (size_t first = 1; first < length; first++)
        for (size_t second = first; second < length; second += 7)
            check_parts(read_cut(PARTS, parts, length, first, second, &files), &files);
    static const char encoded[] = "words=gr%C3%B6%C3%9Fe+\xCF\x89&box=no&last=&box=yes&bare";
    for (size_t first = 0; first < sizeof encoded - 1; first++) {
        DwBody *body = read_cut(ENCODED, encoded, sizeof encoded - 1, first, first + 1, &files);
        ck_assert_int_eq(dw_body_end(body), DW_BODY_WHOLE);
        ck_assert_str_eq(field(body, "words"), "größe ω");
        ck_assert_str_eq(field(body, "last"), "");
        ck_assert_str_eq(field(body, "bare"), "");
        ck_assert_str_eq(field(body, "box"), "yes");
        ck_assert_uint_eq(dw_body_fields(body)->count, 4);
        dw_body_free(body);
    }
}
END_TEST

// Ended anywhere before its last mark it is refused, and gives nothing that did not come whole.
START_TEST(what_ends_too_early_is_broken)
{
    Files files;
    size_t whole = sizeof parts - 1 - strlen("after");
    for (size_t length = 0; length < whole; length++) {
        DwBody *body = read_cut(PARTS, parts, length, length / 2 + 1, length, &files);
        ck_assert_int_eq(dw_body_end(body), DW_BODY_BROKEN);
        ck_assert_int_eq(dw_body_end(body), DW_BODY_BROKEN);
        dw_body_free(body);
        dw_text_clear(&files.names);
    }
}
END_TEST

// A text of LENGTH two-byte letters, in either encoding, whole and from its neighbours' lengths told apart.
static void check_length(size_t length)
{
    Files files;
    DwText encoded = {0}, plain = {0}, in_parts = {0};
    for (size_t i = 0; i < length; i++) {
        dw_text_add(&encoded, "%%CF%%%02X", 0x80 + (unsigned)(i % 10));
        dw_text_add(&plain, "\xCF%c", (char)(0x80 + (int)(i % 10)));
    }
    dw_text_add(&in_parts, "--m m\r\nContent-Disposition: form-data; name=\"note\"\r\n\r\n%s\r\n--m m--", plain.chars);
    char *form = dw_text_format("note=%s", encoded.chars);
    DwBody *first = read_cut(ENCODED, form, strlen(form), strlen(form), 0, &files);
    DwBody *second = read_cut(PARTS, in_parts.chars, in_parts.length, in_parts.length, 0, &files);
    ck_assert_str_eq(field(first, "note"), plain.chars);
    ck_assert_str_eq(field(second, "note"), plain.chars);
    dw_body_free(first);
    dw_body_free(second);
    free(form);
    dw_text_clear(&encoded);
    dw_text_clear(&plain);
    dw_text_clear(&in_parts);
}

START_TEST(every_length_about_the_edges_comes_whole)
{
    static const size_t edges[] = {512, 1024, 4096, 16384, 32768, 65536};
    for (size_t i = 0; i < sizeof edges / sizeof *edges; i++)
        for (size_t off = 0; off <= 8; off++) {
            check_length((edges[i] - 4 + off) / 6);
            check_length((edges[i] - 4 + off) / 2);
            check_length(edges[i] - 4 + off);
        }
}
END_TEST

static void check_state(const char *type, const char *text, size_t length, DwBodyState state, const char *wrong)
{
    Files files;
    DwBody *body = read_cut(type, text, length, length ? length : 1, 0, &files);
    ck_assert_msg(dw_body_end(body) == state, "\"%.40s\" is %d", text, (int)dw_body_end(body));
    ck_assert_str_eq(dw_body_wrong(body), wrong);
    dw_body_free(body);
    dw_text_clear(&files.names);
}

#define CHECK_ENCODED(text, state, wrong) check_state(ENCODED, (text), sizeof(text) - 1, (state), (wrong))

START_TEST(what_is_no_text_is_named)
{
    CHECK_ENCODED("a=1&note=%FF", DW_BODY_NO_TEXT, "note");
    CHECK_ENCODED("note=%00", DW_BODY_NO_TEXT, "note");
    CHECK_ENCODED("note=\xC3", DW_BODY_NO_TEXT, "note");
    CHECK_ENCODED("n%E9=1", DW_BODY_NO_TEXT, "");
    CHECK_ENCODED("note=a&note=b", DW_BODY_TWICE, "note");
    CHECK_ENCODED("box=yes&box=no", DW_BODY_TWICE, "box");
    CHECK_ENCODED("box=no&box=no", DW_BODY_TWICE, "box");
    CHECK_ENCODED("", DW_BODY_WHOLE, "");
}
END_TEST

START_TEST(what_is_no_form_is_told_apart)
{
    check_state("text/plain", "a=1", 3, DW_BODY_NO_FORM, "");
    check_state("", "a=1", 3, DW_BODY_NO_FORM, "");
    check_state("", "", 0, DW_BODY_WHOLE, "");
    check_state("multipart/form-data", "--", 2, DW_BODY_NO_MARK, "");
    check_state("multipart/form-data; boundary=", "--", 2, DW_BODY_NO_MARK, "");
    check_state("multipart/form-data; boundary=\"\xC3\"", "--", 2, DW_BODY_NO_MARK, "");
}
END_TEST

START_TEST(memory_is_bounded)
{
    Files files = {0};
    static const char *const types[] = {ENCODED, PARTS};
    static const char head[] = "--m m\r\nContent-Disposition: form-data; name=\"note\"\r\n\r\n";
    char block[4096];
    memset(block, 'x', sizeof block);
    for (size_t i = 0; i < 2; i++) {
        DwBody *body = dw_body_new(types[i], (DwBodyFiles){begin, more, &files});
        dw_body_push(body, i ? head : "note=", i ? sizeof head - 1 : 5);
        for (size_t sent = 0; sent < 2 * DW_BODY_MOST; sent += sizeof block)
            dw_body_push(body, block, sizeof block);
        ck_assert_int_eq(dw_body_end(body), DW_BODY_TOO_LARGE);
        dw_body_free(body);
    }
}
END_TEST

// Source (published): the table of RFC 3629, 4: the first and the last of each form, and what lies just beside.
START_TEST(text_is_told_from_what_is_none)
{
    static const char *const texts[] = {"",
                                        "a\x7F",
                                        "\xC2\x80",
                                        "\xDF\xBF",
                                        "\xE0\xA0\x80",
                                        "\xED\x9F\xBF",
                                        "\xEE\x80\x80",
                                        "\xEF\xBF\xBF",
                                        "\xF0\x90\x80\x80",
                                        "\xF4\x8F\xBF\xBF",
                                        WORDS};
    static const char *const others[] = {"\x80",
                                         "\xBF",
                                         "\xC0\x80",
                                         "\xC1\xBF",
                                         "\xC2",
                                         "\xC2\x7F",
                                         "\xC2\xC0",
                                         "\xE0\x9F\xBF",
                                         "\xE0\xA0",
                                         "\xE1\x80\x7F",
                                         "\xED\xA0\x80",
                                         "\xED\xBF\xBF",
                                         "\xF0\x8F\xBF\xBF",
                                         "\xF0\x90\x80",
                                         "\xF4\x90\x80\x80",
                                         "\xF5\x80\x80\x80",
                                         "\xFE",
                                         "\xFF",
                                         "a\xE2\x82"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        ck_assert_msg(dw_text_is_utf8(texts[i], strlen(texts[i])), "text %zu", i);
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        ck_assert_msg(!dw_text_is_utf8(others[i], strlen(others[i])), "other %zu", i);
    ck_assert(!dw_text_is_utf8("a\0b", 3));
}
END_TEST

DW_SUITE("body", where_a_piece_ends_changes_nothing, what_ends_too_early_is_broken,
         every_length_about_the_edges_comes_whole, what_is_no_text_is_named, what_is_no_form_is_told_apart,
         memory_is_bounded, text_is_told_from_what_is_none)
