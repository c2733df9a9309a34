// SPDX-License-Identifier: MIT
// The book's shape, version by version. A step is never changed once it was
// given out: the next change is another step (and a book of the version before
// joins the fixtures in tests/book).
#include "book/store/schema.h"

#include "base/text.h"
#include "book/store/private.h"

#include <stdlib.h>
#include <string.h>

// Each brings a book of the version before it forward: steps[0] makes version 1.
static const char *const *const steps[] = {
    dw_schema_1, dw_schema_2, dw_schema_3, dw_schema_4, dw_schema_5,
    dw_schema_6, dw_schema_7, dw_schema_8, dw_schema_9, dw_schema_10,
};

enum { VERSION = sizeof steps / sizeof *steps };

int dw_schema_version(void)
{
    return VERSION;
}

static DwStatus read_version(DwBook *book, int64_t *version, DwMessage *message)
{
    return dw_query_number(book, "PRAGMA user_version", 0, version, message);
}

// A copy as it stood before, made while nobody can write.
static DwStatus copy_aside(DwBook *book, int64_t version, DwMessage *message)
{
    char now[DW_MOMENT_SIZE];
    dw_moment_now(now);
    for (char *at = now; *at; at++)
        *at = *at == ':' ? '-' : *at; // some disks take no colon in a name
    char *source = dw_text_format("%s/book.sqlite", book->folder);
    char *folder = dw_text_format("%s/before-migration", book->folder);
    char *name = dw_text_format("version-%lld-%s.sqlite", (long long)version, now);
    char *part = dw_text_format("%s/%s.part", folder, name);
    int error = dw_file_make_folder(folder);
    DwStatus status = error
                          ? dw_fail(message, DW_FAILED,
                                    "%s cannot be made (%s). The book needs a copy there before it is brought forward; "
                                    "nothing was changed.",
                                    folder, strerror(error))
                          : dw_copy_make(source, part, message);
    if (status == DW_OK)
        status = dw_copy_end(part, folder, name, message);
    if (status != DW_OK)
        dw_copy_drop(part);
    free(source);
    free(folder);
    free(name);
    free(part);
    return status;
}

static DwStatus check_references(DwBook *book, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "PRAGMA foreign_key_check");
    bool wrong = dw_query_step(&query);
    DwStatus status = dw_query_end(&query, message);
    if (status == DW_OK && wrong)
        return dw_fail(message, DW_FAILED,
                       "The book could not be brought forward: entries refer to what is not there. "
                       "It was left as it was; keep it and ask for help.");
    return status;
}

// Within a change: whoever came second finds the work done.
static DwStatus bring_forward(DwBook *book, DwMessage *message)
{
    int64_t version = 0;
    DwStatus status = read_version(book, &version, message);
    if (status == DW_OK && version > 0 && version < VERSION)
        status = copy_aside(book, version, message);
    for (int64_t i = version; i < VERSION && status == DW_OK; i++)
        for (size_t s = 0; steps[i][s] && status == DW_OK; s++)
            status = dw_query_run(book, steps[i][s], message);
    if (status == DW_OK)
        status = check_references(book, message);
    if (status == DW_OK) {
        char *sql =
            dw_text_format("PRAGMA application_id = %d; PRAGMA user_version = %d", DW_BOOK_APPLICATION, VERSION);
        status = dw_query_run(book, sql, message);
        free(sql);
    }
    return status == DW_OK ? dw_seal_all(book, message) : status;
}

DwStatus dw_schema_migrate(DwBook *book, DwMessage *message)
{
    int64_t version = 0;
    bool sealed = false;
    DwStatus status = read_version(book, &version, message);
    if (status == DW_OK)
        status = dw_seal_is_there(book, &sealed, message);
    if (status != DW_OK || (version == VERSION && sealed))
        return status;
    status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    return dw_book_end(book, bring_forward(book, message), message);
}
