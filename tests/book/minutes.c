// SPDX-License-Identifier: MIT
// Minutes that operations usually take: the list and the shop's own.
#include "book/job/minutes.h"
#include "book/job/work.h"
#include "shop.h"

static DwStatus read_list(const char *text, DwMinutesList *list, DwMessage *message)
{
    char path[] = P_tmpdir "/deckwright-usual-XXXXXX";
    FILE *file = fdopen(mkstemp(path), "w");
    fputs(text, file);
    fclose(file);
    DwStatus status = dw_minutes_list_read(path, list, message);
    unlink(path);
    return status;
}

static const char some[] = "[Main bearing, clean and oil]\nbelt = 20 .. 30\nidler = 30 .. 45\nsource = ours\n"
                           "[Motor, oil]\nbelt = 10\nautomatic = 5\nsource = theirs\n";

START_TEST(an_operation_is_found_by_its_words)
{
    static const char *const names[][2] = {{"Main bearing, clean and oil", "Main bearing, clean and oil"},
                                           {"clean and oil the main bearing", "Main bearing, clean and oil"},
                                           {"Cleaned and oiled: main bearing", "Main bearing, clean and oil"},
                                           {"Motor oiled", "Motor, oil"},
                                           {"Main bearing and motor cleaned and oiled", "Main bearing, clean and oil"},
                                           {"clean the bearing", ""},
                                           {"", ""}};
    DwMinutesList list;
    ck_book(read_list(some, &list, message));
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        const DwMinutesWork *work = dw_minutes_list_find(&list, names[i][0]);
        ck_assert_msg(strcmp(work ? work->name : "", names[i][1]) == 0, "%s", names[i][0]);
    }
    dw_minutes_list_clear(&list);
}
END_TEST

START_TEST(a_bad_list_names_its_line)
{
    DwMinutesList list;
    ck_refused(read_list("[Motor, oil]\nbelt = soon\nsource = ours\n", &list, message), "line 2");
    ck_refused(read_list("[Motor, oil]\nbelt = 20 .. 10\nsource = ours\n", &list, message), "line 2");
    ck_refused(read_list("[Motor, oil]\nsteam = 20\nsource = ours\n", &list, message), "no drive");
    ck_refused(read_list("[Motor, oil]\nbelt = 20\n", &list, message), "no source");
    ck_refused(dw_minutes_list_read("/nowhere/operations.ini", &list, message), "/nowhere/operations.ini");
}
END_TEST

static void set_deck(DwBook *book, const char *drive, const char *operation)
{
    DwDeck deck;
    dw_record_init(&deck.record, &dw_deck_entity);
    ck_book(dw_record_load(book, &deck.record, 1, message));
    ck_book(dw_record_set(book, &deck.record, "drive", drive, message));
    ck_book(dw_record_set(book, &deck.record, "operation", operation, message));
    ck_book(dw_record_save(book, &deck.record, message));
    dw_record_clear(&deck.record);
}

static void expect_offer(DwBook *book, const DwMinutesList *list, const char *name, int64_t minutes, const char *source)
{
    DwMinutesOffer offer;
    ck_book(dw_minutes_offer(book, list, name, 1, &offer, message));
    ck_assert_int_eq(offer.minutes, minutes);
    ck_assert_str_eq(offer.source, source);
    free(offer.source);
}

// The middle of 20 to 30 is 25; of 30 to 45, 37.5, rounded up to 40.
START_TEST(the_list_is_offered_until_there_are_own_minutes)
{
    char *folder = shop_folder();
    DwBook *book = shop_open(folder);
    int64_t job = shop_first_job(book);
    DwMinutesList list;
    ck_book(read_list(some, &list, message));
    expect_offer(book, &list, "Motor, oil", 0, "theirs"); // the drive is not known
    set_deck(book, "idler", "manual");
    expect_offer(book, &list, "Main bearing, clean and oil", 40, "ours");
    set_deck(book, "belt", "automatic");
    expect_offer(book, &list, "Main bearing, clean and oil", 25, "ours");
    expect_offer(book, &list, "Motor, oil", 15, "theirs");
    expect_offer(book, &list, "Tea", 0, "");
    static const int64_t taken[] = {11, 12, 17};
    for (int i = 0; i < DW_MINUTES_TIMES; i++) {
        expect_offer(book, &list, "Motor, oil", 15, "theirs");
        DwOperation operation;
        dw_record_init(&operation.record, &dw_operation_entity);
        operation.job_id = job;
        operation.name = dw_memory_text("Motor, oil");
        operation.actual_minutes = taken[i];
        ck_book(dw_record_save(book, &operation.record, message));
        dw_record_clear(&operation.record);
    }
    expect_offer(book, &list, "Motor, oil", 13, ""); // 40 / 3
    dw_minutes_list_clear(&list);
    dw_book_close(book);
    shop_remove(folder);
}
END_TEST

START_TEST(the_list_that_comes_along_is_sound)
{
    DwMinutesList list;
    ck_book(dw_minutes_list_read(DW_OPERATIONS, &list, message));
    ck_assert_uint_gt(list.count, 15);
    for (size_t i = 0; i < list.count; i++)
        ck_assert_ptr_eq(dw_minutes_list_find(&list, list.works[i].name), &list.works[i]);
    dw_minutes_list_clear(&list);
}
END_TEST

DW_SUITE("usual", an_operation_is_found_by_its_words, a_bad_list_names_its_line,
         the_list_is_offered_until_there_are_own_minutes, the_list_that_comes_along_is_sound)
