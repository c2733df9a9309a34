// SPDX-License-Identifier: MIT
#include "book/care/attachments.h"

#include "base/text.h"
#include "base/tongue.h"
#include "book/store/private.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

// Whether FOLDER/FILE is there as DIGEST says; *ERROR is 0 when it could be read at all.
static bool is_whole(const char *folder, const char *file, const char *digest, int *error)
{
    char *path = dw_text_format("%s/%s", folder, file), found[65] = "";
    *error = dw_file_digest(path, found, NULL);
    free(path);
    return !*error && strcmp(found, digest) == 0;
}

// Copies FROM/FILE; *WHOLE says whether what was read is as DIGEST says. Returns 0 or an errno.
static int copy(const char *from, const char *to, const char *file, const char *digest, bool *whole)
{
    char *source = dw_text_format("%s/%s", from, file), copied[65];
    int error = dw_file_copy(source, to, file, copied, NULL);
    free(source);
    *whole = !error && strcmp(copied, digest) == 0;
    return error;
}

// The first of PLACES that has FILE whole, or the first at all; *WHOLE and *ERROR are of the first's own.
static size_t best_place(const char *const *places, const char *file, const char *digest, bool *whole, int *error)
{
    *whole = is_whole(places[0], file, digest, error);
    for (size_t i = 1; !*whole && places[i]; i++) {
        int other;
        if (is_whole(places[i], file, digest, &other))
            return i;
    }
    return 0;
}

DwStatus dw_attachments_copy(const char *const *places, const char *to, const char *file, const char *digest,
                             const char *name, DwProblems *problems, DwMessage *message)
{
    if (!*file || *file == '.' || strchr(file, '/')) {
        dw_problems_add(problems, "The entry of %s names a file that cannot be one of the book: \"%s\".", name, file);
        return DW_OK;
    }
    bool whole;
    int error, unread;
    size_t from = best_place(places, file, digest, &whole, &error);
    bool kept = is_whole(to, file, digest, &unread);
    if (!kept && (from || !error)) {
        bool copied;
        int failed = copy(places[from], to, file, digest, &copied);
        if (failed && failed != ENOENT) // which it is when it was erased just now
            return dw_fail(message, DW_FAILED, "%s/%s: %s. It was not finished; what was there before is still whole.",
                           to, file, strerror(failed));
        error = failed ? failed : error;
        whole = whole && copied;
        from = copied ? from : 0;
    }
    if (whole || from)
        return DW_OK;
    const char *has = kept ? dw_said(" It is whole in the copy.") : error ? "" : dw_said(" It was copied as it is.");
    if (error)
        dw_problems_add(problems, "attachments/%s (%s) %s.%s", file, name,
                        error == ENOENT ? dw_said("is missing") : dw_said("cannot be read"), has);
    else
        dw_problems_add(problems, "attachments/%s (%s) is not as it was when it was put into the book.%s", file, name,
                        has);
    return DW_OK;
}

DwStatus dw_attachments_copy_all(DwBook *book, const char *where, int64_t id, const char *const *places, const char *to,
                                 DwProblems *problems, DwMessage *message)
{
    int error = dw_file_make_folder(to);
    if (error)
        return dw_fail(message, DW_FAILED, "%s: %s.", to, strerror(error));
    char *sql = dw_text_format(
        "SELECT file, digest, kind || ' ' || attachment.id || coalesce(' \"' || coalesce(nullif(caption, ''), "
        "nullif(original_name, '')) || '\"', '') || coalesce(' of job ' || format('%%04d', (SELECT number FROM job "
        "WHERE "
        "job.id = job_id)), '') FROM attachment WHERE %s ORDER BY attachment.id",
        where ? where : "1");
    DwStatus status = DW_OK;
    DwQuery query = dw_query_begin(book, sql);
    for (int i = sqlite3_bind_parameter_count(query.statement); i > 0; i--)
        dw_query_bind_integer(&query, id);
    while (status == DW_OK && dw_query_step(&query))
        status = dw_attachments_copy(places, to, dw_query_text(&query, 0), dw_query_text(&query, 1),
                                     dw_query_text(&query, 2), problems, message);
    DwStatus ended = dw_query_end(&query, message);
    free(sql);
    return status == DW_OK ? ended : status;
}
