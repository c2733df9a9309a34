// SPDX-License-Identifier: MIT
#include "book/care/mend.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/store/private.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { DIGITS_LEAST = 8, DIGITS_MOST = 64 };

static bool is_whole(const char *folder, const char *file, const char *digest)
{
    char *path = dw_text_format("%s/%s", folder, file), found[DIGITS_MOST + 1] = "";
    bool whole = dw_file_digest(path, found, NULL) == 0 && strcmp(found, digest) == 0;
    free(path);
    return whole;
}

// The name in FOLDER of the file with DIGEST: FILE when it is that, else any other. The caller frees it with free().
static char *find_in(const char *folder, const char *file, const char *digest)
{
    if (is_whole(folder, file, digest))
        return dw_memory_text(file);
    DIR *entries = opendir(folder);
    char *found = NULL;
    for (const struct dirent *entry = entries ? readdir(entries) : NULL; entry && !found; entry = readdir(entries))
        if (*entry->d_name != '.' && is_whole(folder, entry->d_name, digest))
            found = dw_memory_text(entry->d_name);
    if (entries)
        closedir(entries);
    return found;
}

// What is there in its place is not as it was kept, but somebody may want to see it.
static void set_aside(const DwBook *book, const char *file)
{
    char *from = dw_text_format("%s/attachments/%s", book->folder, file);
    char *to = dw_text_format("%s/orphans", book->folder), *name = dw_text_format("%s/%s", to, file);
    if (access(from, F_OK) == 0 && dw_file_make_folder(to) == 0 && link(from, name) != 0 && errno != EEXIST)
        errno = 0; // the copy is worth more than what it takes the place of
    free(from);
    free(to);
    free(name);
}

static DwStatus mend_one(DwBook *book, const char *from, const char *file, const char *digest, DwMended *mended,
                         DwProblems *problems, DwMessage *message)
{
    char *own = dw_text_format("%s/attachments", book->folder);
    char *found = is_whole(own, file, digest) ? NULL : find_in(from, file, digest);
    bool whole = !found && is_whole(own, file, digest);
    int error = 0;
    if (whole)
        mended->whole++;
    else if (!found)
        dw_problems_add(problems, "attachments/%s (SHA-256 %.16s…) is not in this backup either.", file, digest);
    else {
        char *source = dw_text_format("%s/%s", from, found);
        set_aside(book, file);
        error = dw_file_copy(source, own, file, NULL, NULL);
        mended->mended += !error;
        free(source);
    }
    free(found);
    free(own);
    return error ? dw_fail(message, DW_FAILED, "attachments/%s: %s. It was not mended.", file, strerror(error)) : DW_OK;
}

static DwStatus mend_all(DwBook *book, const char *from, const char *digest, DwMended *mended, DwProblems *problems,
                         DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "SELECT file, digest FROM attachment WHERE substr(digest, 1, length(?1)) = "
                                         "lower(?1) OR file = ?1 OR 'attachments/' || file = ?1 ORDER BY id");
    dw_query_bind_text(&query, digest ? digest : "");
    DwStatus status = DW_OK;
    size_t count = 0;
    for (; status == DW_OK && dw_query_step(&query); count++)
        status = mend_one(book, from, dw_query_text(&query, 0), dw_query_text(&query, 1), mended, problems, message);
    DwStatus ended = dw_query_end(&query, message);
    if (status == DW_OK && ended == DW_OK && digest && !count)
        return dw_fail(message, DW_BAD_INPUT, "No attachment of the book has the name %s or a SHA-256 that begins so.",
                       digest);
    return status == DW_OK ? ended : status;
}

DwStatus dw_mend_attachments(DwBook *book, const char *backup, const char *digest, DwMended *mended,
                             DwProblems *problems, DwMessage *message)
{
    *mended = (DwMended){0};
    *problems = (DwProblems){0};
    size_t length = digest ? strlen(digest) : DIGITS_LEAST;
    bool figures = !digest || dw_text_is_figures(digest, length);
    // A file has an ending, or at least no such name.
    if (length < DIGITS_LEAST || length > DIGITS_MOST || (!figures && !strchr(digest, '.')))
        return dw_fail(message, DW_BAD_INPUT,
                       "\"%s\" is neither an attachment's file nor a SHA-256: give the name, or the first 8 figures or "
                       "more, as `book check` prints them.",
                       digest);
    char *from = dw_text_format("%s/attachments", backup);
    DwStatus status = access(from, R_OK) == 0
                          ? dw_book_begin(book, message)
                          : dw_fail(message, DW_BAD_INPUT, "%s holds no backup with attachments.", backup);
    if (status == DW_OK)
        status = dw_book_end(book, mend_all(book, from, digest, mended, problems, message), message);
    free(from);
    return status;
}
