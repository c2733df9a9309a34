// SPDX-License-Identifier: MIT
// Which language is written in. The catalogues are made by the test itself, after the GNU gettext manual, "The Format
// of GNU MO Files": magic, revision, count, and two tables of lengths and places.
#include "base/tongue.h"

#include "base/status.h"
#include "support/suite.h"

#include <ftw.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { TEXTS_MOST = 16, BYTES_MOST = 4096 };

static char folder[] = "/tmp/deckwright-tongue-XXXXXX";

// The file of PAIRS, sorted by what is translated, NULL last. Returned: its length.
static size_t make(unsigned char bytes[BYTES_MOST], const char *const *pairs)
{
    uint32_t count = 0;
    while (pairs[2 * count])
        count++;
    const uint32_t head[] = {0x950412de, 0, count, 28, 28 + 8 * count, 0, 0};
    memcpy(bytes, head, sizeof head);
    size_t end = sizeof head + 16 * count;
    for (uint32_t side = 0; side < 2; side++)
        for (uint32_t i = 0; i < count; i++) {
            const char *text = pairs[2 * i + side];
            const uint32_t row[] = {(uint32_t)strlen(text), (uint32_t)end};
            memcpy(bytes + 28 + 8 * (side * count + i), row, sizeof row);
            memcpy(bytes + end, text, strlen(text) + 1);
            end += strlen(text) + 1;
        }
    return end;
}

static void put(const char *tag, const unsigned char *bytes, size_t length)
{
    char path[256];
    snprintf(path, sizeof path, "%s/%s", folder, tag);
    mkdir(path, 0700);
    strcat(path, "/LC_MESSAGES");
    mkdir(path, 0700);
    strcat(path, "/deckwright.mo");
    FILE *file = fopen(path, "wb");
    ck_assert_ptr_nonnull(file);
    ck_assert_uint_eq(fwrite(bytes, 1, length, file), length);
    ck_assert_int_eq(fclose(file), 0);
}

static void put_pairs(const char *tag, const char *const *pairs)
{
    unsigned char bytes[BYTES_MOST];
    put(tag, bytes, make(bytes, pairs));
}

static int remove_entry(const char *path, const struct stat *status, int kind, struct FTW *place)
{
    (void)status;
    (void)kind;
    (void)place;
    return remove(path);
}

static void tidy(void)
{
    nftw(folder, remove_entry, 16, FTW_DEPTH | FTW_PHYS);
}

static void set_up(void)
{
    static const char *const german[] = {" (shared by ",
                                         " (geteilt von ",
                                         " or ",
                                         " oder ",
                                         "",
                                         "Content-Type: text/plain; charset=UTF-8\n",
                                         "\"%.*s\" is %g mm %s.",
                                         "%3$s: »%1$.*2$s«?",
                                         "0.5",
                                         "0,5",
                                         "Plinth",
                                         "Zarge",
                                         "platter",
                                         "Teller",
                                         "record",
                                         "Platte",
                                         "%d of %d: %s.",
                                         "%3$s (%1$d von %2$d).",
                                         NULL};
    static const char *const austrian[] = {"", "x", "platter", "Scheibe", NULL};
    static const char *const french[] = {"", "x", "platter", "plateau", NULL};
    static bool done;
    if (done)
        return;
    done = true;
    ck_assert_ptr_nonnull(mkdtemp(folder));
    atexit(tidy);
    ck_assert_int_eq(setenv("DECKWRIGHT_WORDS", folder, 1), 0);
    // In the order of their bytes, as msgfmt sorts them.
    const char *sorted[2 * TEXTS_MOST + 1] = {NULL};
    size_t count = 0;
    for (; german[2 * count]; count++) {
        size_t at = count;
        for (; at > 0 && strcmp(sorted[2 * at - 2], german[2 * count]) > 0; at--) {
            sorted[2 * at] = sorted[2 * at - 2];
            sorted[2 * at + 1] = sorted[2 * at - 1];
        }
        sorted[2 * at] = german[2 * count];
        sorted[2 * at + 1] = german[2 * count + 1];
    }
    put_pairs("de", sorted);
    put_pairs("de_AT", austrian);
    put_pairs("fr", french);
}

static const char *platter_in(const char *tag)
{
    dw_tongue_use(dw_tongue_of(tag));
    const char *said = dw_said("platter");
    dw_tongue_drop();
    return said;
}

START_TEST(a_tag_finds_the_nearest_language)
{
    set_up();
    ck_assert_str_eq(platter_in("de"), "Teller");
    ck_assert_str_eq(platter_in("de-AT"), "Scheibe");
    ck_assert_str_eq(platter_in("de_CH.UTF-8"), "Teller");
    ck_assert_str_eq(platter_in("de@euro"), "Teller");
    ck_assert_str_eq(platter_in("fr_CA"), "plateau");
    ck_assert_ptr_null(dw_tongue_of("nl"));
    ck_assert_ptr_null(dw_tongue_of(""));
    ck_assert_ptr_null(dw_tongue_of("../fr"));
    ck_assert_ptr_null(dw_tongue_of("d"));
}
END_TEST

// What a platter is called where these variables are set.
static const char *platter_of_user(const char *list, const char *all, const char *messages, const char *lang)
{
    const char *const names[] = {"LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG"}, *const values[] = {list, all, messages,
                                                                                                  lang};
    for (int i = 0; i < 4; i++)
        ck_assert_int_eq(values[i] ? setenv(names[i], values[i], 1) : unsetenv(names[i]), 0);
    dw_tongue_use(dw_tongue_of_user());
    const char *said = dw_said("platter");
    dw_tongue_drop();
    return said;
}

START_TEST(the_user_chooses_as_with_gettext)
{
    set_up();
    ck_assert_str_eq(platter_of_user(NULL, NULL, NULL, "de_DE.UTF-8"), "Teller");
    ck_assert_str_eq(platter_of_user(NULL, NULL, "fr_FR.UTF-8", "de_DE.UTF-8"), "plateau");
    ck_assert_str_eq(platter_of_user(NULL, "de_DE.UTF-8", "fr_FR.UTF-8", NULL), "Teller");
    ck_assert_str_eq(platter_of_user("nl:fr:de", NULL, NULL, "de_DE.UTF-8"), "plateau");
    ck_assert_str_eq(platter_of_user("", NULL, NULL, "de_DE.UTF-8"), "Teller");
    ck_assert_str_eq(platter_of_user("en:fr", NULL, NULL, "de_DE.UTF-8"), "platter");
    ck_assert_str_eq(platter_of_user("fr", "C", NULL, "de_DE.UTF-8"), "platter");
    ck_assert_str_eq(platter_of_user("fr", NULL, NULL, NULL), "platter");
    ck_assert_str_eq(platter_of_user("fr", "C.UTF-8", NULL, NULL), "plateau");
    ck_assert_str_eq(platter_of_user("nl", NULL, NULL, "de_DE.UTF-8"), "platter");
}
END_TEST

START_TEST(places_and_decimal_mark_are_the_languages)
{
    set_up();
    dw_tongue_use(dw_tongue_of("de"));
    char *turned = dw_say("%d of %d: %s.", 2, 3, "x"), *cut = dw_say("\"%.*s\" is %g mm %s.", 3, "abcdef", 1.5, "y");
    char *plain = dw_say("%s is not in it: %.1f", "z", 0.5);
    dw_tongue_drop();
    ck_assert_str_eq(turned, "x (2 von 3).");
    ck_assert_str_eq(cut, "\"abc\" is 1,5 mm y."); // other places than the sentence's: it stays English
    ck_assert_str_eq(plain, "z is not in it: 0,5");
    free(turned);
    free(cut);
    free(plain);
}
END_TEST

START_TEST(labels_are_said_in_parts)
{
    set_up();
    dw_tongue_use(dw_tongue_of("de"));
    ck_assert_str_eq(dw_said_label("platter or record"), "Teller oder Platte");
    ck_assert_str_eq(dw_said_label("Plinth, left"), "Zarge, left");
    // The source of a limit that another shop shared: its own words, then whose.
    ck_assert_str_eq(dw_said_label("Plinth (shared by Kiel, at the harbour)"),
                     "Zarge (geteilt von Kiel, at the harbour)");
    ck_assert_ptr_eq(dw_said_label("platter or record"), dw_said_label("platter or record"));
    dw_tongue_drop();
    ck_assert_str_eq(dw_said_label("platter or record"), "platter or record");
}
END_TEST

START_TEST(what_goes_wrong_keeps_its_english_line)
{
    set_up();
    DwMessage message;
    dw_tongue_set(dw_tongue_of("de"));
    dw_fail(&message, DW_FAILED, "%d of %d: %s.", 1, 2, "x");
    ck_assert_str_eq(message.text, "1 of 2: x.");
    ck_assert_str_eq(dw_message_said(&message), "x (1 von 2).");
    DwMessage where;
    dw_fail(&where, DW_FAILED, "%s: line %d: %s", "a.deck", 3, message.text);
    ck_assert_str_eq(where.text, "a.deck: line 3: 1 of 2: x.");
    ck_assert_str_eq(dw_message_said(&where), "a.deck: line 3: x (1 von 2).");
    dw_tongue_set(NULL);
    dw_fail(&message, DW_FAILED, "Plinth");
    ck_assert_str_eq(dw_message_said(&message), "Plinth");
}
END_TEST

START_TEST(a_damaged_catalogue_is_english)
{
    set_up();
    static const char *const pairs[] = {"", "x", "platter", "Teller", "record", "Platte", NULL};
    unsigned char bytes[BYTES_MOST], damaged[BYTES_MOST];
    size_t length = make(bytes, pairs);
    char tag[16];
    for (size_t cut = 0; cut < length; cut += 5) { // cut off: nothing lies outside the file
        snprintf(tag, sizeof tag, "c%zu", cut);
        put(tag, bytes, cut);
        ck_assert_ptr_null(dw_tongue_of(tag));
        if (cut > 200)
            break;
    }
    static const size_t fields[] = {0, 8, 12, 16, 28, 32, 28 + 24, 28 + 28};
    for (size_t i = 0; i < sizeof fields / sizeof *fields; i++) {
        memcpy(damaged, bytes, length);
        memset(damaged + fields[i], 0xff, 4);
        snprintf(tag, sizeof tag, "f%zu", fields[i]);
        put(tag, damaged, length);
        ck_assert_ptr_null(dw_tongue_of(tag));
    }
}
END_TEST

DW_SUITE("tongue", a_tag_finds_the_nearest_language, the_user_chooses_as_with_gettext,
         places_and_decimal_mark_are_the_languages, labels_are_said_in_parts, what_goes_wrong_keeps_its_english_line,
         a_damaged_catalogue_is_english)
