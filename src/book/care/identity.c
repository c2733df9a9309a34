// SPDX-License-Identifier: MIT
#include "book/care/backup.h"

#include "base/memory.h"
#include "book/store/private.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

char *dw_identity_read(DwBook *book)
{
    char *identity = NULL;
    DwQuery query = dw_query_begin(book, "SELECT value FROM identity");
    if (dw_query_step(&query))
        identity = dw_memory_text(dw_query_text(&query, 0));
    dw_query_end(&query, NULL);
    return identity;
}

bool dw_identity_look(const char *path, DwBook *book)
{
    *book = (DwBook){0};
    if (access(path, F_OK) != 0 || dw_book_connect(path, SQLITE_OPEN_READWRITE, &book->database, NULL) != DW_OK)
        return false;
    sqlite3_db_config(book->database, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, NULL);
    return true;
}

bool dw_identity_is_other(DwBook *book, const char *path)
{
    DwBook met;
    if (!dw_identity_look(path, &met))
        return false;
    char *own = dw_identity_read(book), *its = dw_identity_read(&met);
    bool other = own && its && strcmp(own, its) != 0;
    free(own);
    free(its);
    sqlite3_close(met.database);
    return other;
}

bool dw_identity_differ(const char *first, const char *second, bool *is_empty)
{
    DwBook book;
    int64_t lines = 1;
    *is_empty = false;
    if (!dw_identity_look(first, &book))
        return false;
    bool differ = dw_identity_is_other(&book, second);
    if (dw_query_number(&book, "SELECT count(*) FROM journal", 0, &lines, NULL) == DW_OK)
        *is_empty = lines == 0;
    sqlite3_close(book.database);
    return differ;
}
