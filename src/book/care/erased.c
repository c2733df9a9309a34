// SPDX-License-Identifier: MIT
// Who was erased, kept beside the database too: a backup from before knows nothing of it, and brings nobody back.
//
//     FOLDER/erased    the book's identity, then a line "NUMBER DAY" for each erased customer
#include "book/care/erase.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/care/backup.h"
#include "book/store/journal.h"
#include "book/store/private.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// And whoever went into one of them before: a backup may have both.
static const char erased_customers[] =
    "WITH RECURSIVE gone (id, day) AS (SELECT id, erased_on FROM customer WHERE erased_on IS NOT NULL UNION SELECT "
    "row_id, day FROM gone JOIN journal ON entity = 'customer' AND field = '' AND new_value = '" DW_JOURNAL_MERGED
    "' || gone.id WHERE row_id NOT IN (SELECT id FROM customer)) SELECT id, day FROM gone ORDER BY id";

void dw_erased_note(DwBook *book)
{
    char *identity = dw_identity_read(book);
    DwText text = {0};
    dw_text_add(&text, "%s\n", identity ? identity : "");
    DwQuery query = dw_query_begin(book, erased_customers);
    size_t count = 0;
    for (; dw_query_step(&query); count++)
        dw_text_add(&text, "%lld %s\n", (long long)dw_query_integer(&query, 0), dw_query_text(&query, 1));
    // A disk that cannot take it keeps the erasure itself; the next one writes it again.
    if (dw_query_end(&query, NULL) == DW_OK && count)
        dw_file_write(book->folder, "erased", text.chars, text.length);
    dw_text_clear(&text);
    free(identity);
}

typedef struct {
    int64_t customer;
    char day[DW_DATE_SIZE];
} Erased;

typedef struct {
    Erased *items;
    size_t count;
} ErasedList;

static void add(ErasedList *list, int64_t customer, const char *day)
{
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i].customer == customer)
            return;
    list->items = dw_memory_resize(list->items, list->count + 1, sizeof *list->items);
    list->items[list->count].customer = customer;
    snprintf(list->items[list->count++].day, DW_DATE_SIZE, "%s", day);
}

// What the note in FOLDER says, when it is of the book with IDENTITY.
static void read_note(const char *folder, const char *identity, ErasedList *list)
{
    char *path = dw_text_format("%s/erased", folder), line[100], day[DW_DATE_SIZE];
    FILE *file = fopen(path, "re");
    free(path);
    if (!file)
        return;
    bool own = fgets(line, sizeof line, file) && strncmp(line, identity, strlen(identity)) == 0;
    long long customer;
    while (own && fgets(line, sizeof line, file))
        if (sscanf(line, "%lld %10s", &customer, day) == 2)
            add(list, customer, day);
    fclose(file);
}

// What the book in FOLDER itself says, when it can be read and is the one with IDENTITY.
static void read_book(const char *folder, const char *identity, ErasedList *list)
{
    DwBook book;
    char *path = dw_text_format("%s/book.sqlite", folder);
    bool opened = dw_identity_look(path, &book);
    char *own = opened ? dw_identity_read(&book) : NULL;
    if (own && strcmp(own, identity) == 0) {
        DwQuery query = dw_query_begin(&book, erased_customers);
        while (dw_query_step(&query))
            add(list, dw_query_integer(&query, 0), dw_query_text(&query, 1));
        dw_query_end(&query, NULL);
    }
    if (opened)
        sqlite3_close(book.database);
    free(own);
    free(path);
}

// One that this book does not know yet needs nothing.
static DwStatus erase_again(DwBook *book, const Erased *erased, size_t *count, DwProblems *problems, DwMessage *message)
{
    int64_t stands = 0;
    DwErasure erasure;
    DwMessage why = {""};
    DwStatus status = dw_query_number(book, "SELECT count(*) FROM customer WHERE id = ? AND erased_on IS NULL",
                                      erased->customer, &stands, message);
    if (status != DW_OK || !stands)
        return status;
    status = dw_erase_customer(book, erased->customer, &erasure, &why);
    if (status == DW_OK) {
        ++*count;
        dw_erasure_clear(&erasure);
    } else
        dw_problems_add(problems,
                        "Customer %lld was erased on %s and stands in this backup: %s Erase the customer again.",
                        (long long)erased->customer, erased->day, why.text);
    return DW_OK;
}

DwStatus dw_erased_again(DwBook *book, const char *folder, size_t *count, DwProblems *problems, DwMessage *message)
{
    ErasedList list = {0};
    *count = 0;
    char *identity = dw_identity_read(book);
    DwStatus status = DW_OK;
    if (identity) {
        read_note(folder, identity, &list);
        read_book(folder, identity, &list);
    }
    for (size_t i = 0; i < list.count && status == DW_OK; i++)
        status = erase_again(book, &list.items[i], count, problems, message);
    dw_erased_note(book);
    free(list.items);
    free(identity);
    return status;
}
