// SPDX-License-Identifier: MIT
#include "base/keyfile.h"
#include "support/suite.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

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

static void ck_refused(const char *path, const char *words)
{
    DwKeyfile file;
    DwMessage message = {""};
    ck_assert_int_eq(dw_keyfile_read(path, &file, &message), DW_BAD_INPUT);
    ck_assert_msg(strstr(message.text, words), "%s", message.text);
}

// A pipe without a writer and a device without an end would hold the reader for good.
START_TEST(only_an_ordinary_file_is_read)
{
    char folder[] = "/tmp/keyfile-XXXXXX", path[64];
    ck_assert_ptr_nonnull(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/pipe", folder);
    ck_assert_int_eq(mkfifo(path, 0600), 0);
    ck_refused(path, "no ordinary file");
    ck_refused("/dev/zero", "no ordinary file");
    ck_refused(folder, "no ordinary file");
    unlink(path);
    rmdir(folder);
}
END_TEST

// COUNT times LINE in a file, read.
static DwStatus read_many(const char *line, size_t count, DwKeyfile *file, DwMessage *message)
{
    char path[] = "/tmp/keyfile-XXXXXX";
    FILE *stream = fdopen(mkstemp(path), "w");
    for (size_t i = 0; i < count; i++)
        fprintf(stream, line, i);
    fclose(stream);
    DwStatus status = dw_keyfile_read(path, file, message);
    unlink(path);
    return status;
}

START_TEST(a_file_is_bounded_in_bytes_and_keys)
{
    DwKeyfile file;
    DwMessage message;
    ck_assert_int_eq(read_many("x", DW_KEYFILE_BYTES_MOST, &file, &message), DW_BAD_INPUT); // one line
    ck_assert_msg(strstr(message.text, "line 1 "), "%s", message.text);
    ck_assert_int_eq(read_many("x", DW_KEYFILE_BYTES_MOST + 1, &file, &message), DW_BAD_INPUT);
    ck_assert_msg(strstr(message.text, "more than 1024 kB"), "%s", message.text);
    ck_assert_int_eq(read_many("[%zu]\na=\n", 100000, &file, &message), DW_BAD_INPUT);
    ck_assert_msg(strstr(message.text, "more than"), "%s", message.text);
    ck_assert_int_eq(read_many("[%zu]\na=\n", 50000, &file, &message), DW_BAD_INPUT);
    ck_assert_msg(strstr(message.text, "more than 10000 keys"), "%s", message.text);
    ck_assert_int_eq(read_many("[%zu]\na=\n", DW_KEYFILE_LINES_MOST, &file, &message), DW_OK);
    ck_assert_uint_eq(file.count, DW_KEYFILE_LINES_MOST);
    dw_keyfile_clear(&file);
    ck_assert_int_eq(read_many("# %zu\n", 100000, &file, &message), DW_OK); // remarks are no keys
    dw_keyfile_clear(&file);
}
END_TEST

DW_SUITE("keyfile", groups_keys_and_lines_are_kept_in_order, a_bad_line_is_named, only_an_ordinary_file_is_read,
         a_file_is_bounded_in_bytes_and_keys)
