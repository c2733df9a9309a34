// SPDX-License-Identifier: MIT
// An invented shop in a folder of its own, for the tests of the book.
#ifndef DW_TESTS_BOOK_SHOP_H
#define DW_TESTS_BOOK_SHOP_H

#include "base/memory.h"
#include "base/text.h"
#include "book/shop/deck.h"
#include "book/job/job.h"
#include "support/suite.h"

#include <ftw.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

// Fails the test with the book's own line.
#define ck_book(call)                                                                                                  \
    do {                                                                                                               \
        DwMessage said = {""};                                                                                         \
        DwMessage *message = &said;                                                                                    \
        if ((call) != DW_OK)                                                                                           \
            ck_abort_msg("%s: %s", #call, said.text);                                                                  \
    } while (0)

// Expects DW_BAD_INPUT with a line that contains WORDS.
#define ck_refused(call, words)                                                                                        \
    do {                                                                                                               \
        DwMessage said = {""};                                                                                         \
        DwMessage *message = &said;                                                                                    \
        ck_assert_int_eq((call), DW_BAD_INPUT);                                                                        \
        ck_assert_msg(strstr(said.text, words) != NULL, "the line is: %s", said.text);                                 \
    } while (0)

// A new folder for one test. The caller frees it with shop_remove().
static inline char *shop_folder(void)
{
    char *folder = dw_memory_text(P_tmpdir "/deckwright-book-XXXXXX");
    ck_assert_ptr_nonnull(mkdtemp(folder));
    return folder;
}

static inline int shop_remove_entry(const char *path, const struct stat *status, int kind, struct FTW *walk)
{
    (void)status;
    (void)kind;
    (void)walk;
    return remove(path);
}

static inline void shop_remove(char *folder)
{
    nftw(folder, shop_remove_entry, 16, FTW_DEPTH | FTW_PHYS);
    free(folder);
}

static inline DwBook *shop_open(const char *folder)
{
    DwBook *book = NULL;
    ck_book(dw_book_open(folder, &book, message));
    dw_book_set_actor(book, "tester");
    return book;
}

static inline int64_t shop_customer(DwBook *book, const char *name)
{
    DwCustomer customer;
    dw_record_init(&customer.record, &dw_customer_entity);
    customer.name = dw_memory_text(name);
    ck_book(dw_record_save(book, &customer.record, message));
    int64_t id = customer.record.id;
    dw_record_clear(&customer.record);
    return id;
}

static inline int64_t shop_deck(DwBook *book, const char *make, const char *model, const char *serial)
{
    DwDeck deck;
    dw_record_init(&deck.record, &dw_deck_entity);
    deck.make = dw_memory_text(make);
    deck.model = dw_memory_text(model);
    deck.serial = dw_memory_text(serial);
    ck_book(dw_record_save(book, &deck.record, message));
    int64_t id = deck.record.id;
    dw_record_clear(&deck.record);
    return id;
}

static inline int64_t shop_job(DwBook *book, int64_t customer, int64_t deck)
{
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    job.customer_id = customer;
    job.deck_id = deck;
    ck_book(dw_job_open(book, &job, message));
    int64_t id = job.record.id;
    dw_record_clear(&job.record);
    return id;
}

// A customer with a deck and a job on it.
static inline int64_t shop_first_job(DwBook *book)
{
    int64_t customer = shop_customer(book, "Ada Sample"), deck = shop_deck(book, "Plain", "Two", "S-1234");
    ck_book(dw_deck_give(book, deck, customer, message));
    return shop_job(book, customer, deck);
}

#endif
