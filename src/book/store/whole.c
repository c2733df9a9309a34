// SPDX-License-Identifier: MIT
// Whether the files of attachments are still what was kept.
#include "base/text.h"
#include "book/store/attachment.h"
#include "book/store/private.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

// What was read of a file before: by its SHA-256, size and both its times, so that a file that was not touched since
// is not read again.
typedef struct {
    char digest[65];
    struct timespec written, moved;
    off_t bytes;
    bool whole;
} Known;

enum { KNOWN_MOST = 4096 };

static Known known[KNOWN_MOST];
static pthread_mutex_t known_lock = PTHREAD_MUTEX_INITIALIZER;

static Known *place_of(const char *digest)
{
    char head[9] = "";
    memcpy(head, digest, strnlen(digest, 8));
    return &known[strtoul(head, NULL, 16) % KNOWN_MOST];
}

static bool same_time(struct timespec a, struct timespec b)
{
    return a.tv_sec == b.tv_sec && a.tv_nsec == b.tv_nsec;
}

static bool look_up(const char *digest, const struct stat *file, bool *whole)
{
    pthread_mutex_lock(&known_lock);
    const Known *row = place_of(digest);
    bool found = strcmp(row->digest, digest) == 0 && same_time(row->written, file->st_mtim) &&
                 same_time(row->moved, file->st_ctim) && row->bytes == file->st_size;
    *whole = row->whole;
    pthread_mutex_unlock(&known_lock);
    return found;
}

static void note(const char *digest, const struct stat *file, bool whole)
{
    Known row = {.written = file->st_mtim, .moved = file->st_ctim, .bytes = file->st_size, .whole = whole};
    memcpy(row.digest, digest, strnlen(digest, sizeof row.digest - 1));
    pthread_mutex_lock(&known_lock);
    *place_of(digest) = row;
    pthread_mutex_unlock(&known_lock);
}

// Whether FILE may have been touched since the moment AT at which it was kept.
static bool is_touched(const struct stat *file, const char *at)
{
    char moment[DW_MOMENT_SIZE];
    time_t last = (file->st_mtime > file->st_ctime ? file->st_mtime : file->st_ctime);
    struct tm parts;
    return !gmtime_r(&last, &parts) || !strftime(moment, sizeof moment, "%Y-%m-%dT%H:%M:%SZ", &parts) ||
           strcmp(moment, at) >= 0;
}

DwAttachmentState dw_attachment_state(const DwBook *book, const DwAttachment *attachment)
{
    struct stat file;
    char digest[65];
    int64_t bytes = 0;
    bool whole = true;
    char *path = dw_attachment_path(book, attachment);
    bool there = stat(path, &file) == 0 && S_ISREG(file.st_mode);
    if (there && file.st_size != attachment->bytes)
        whole = false;
    else if (there && is_touched(&file, attachment->at) && !look_up(attachment->digest, &file, &whole)) {
        whole = dw_file_digest(path, digest, &bytes) == 0 && strcmp(digest, attachment->digest) == 0;
        note(attachment->digest, &file, whole);
    }
    free(path);
    return !there ? DW_ATTACHMENT_MISSING : whole ? DW_ATTACHMENT_WHOLE : DW_ATTACHMENT_CHANGED;
}

DwStatus dw_attachment_troubles(DwBook *book, int64_t job, DwAttachmentTroubles *troubles, DwMessage *message)
{
    DwRecords records;
    DwAttachmentTroubles found = {0};
    DwText missing = {0}, changed = {0};
    DwStatus status = dw_attachment_of_job(book, job, &records, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < records.count; i++) {
        const DwAttachment *attachment = (const DwAttachment *)dw_records_at(&records, i);
        DwAttachmentState state = dw_attachment_state(book, attachment);
        if (state == DW_ATTACHMENT_WHOLE)
            continue;
        DwText *list = state == DW_ATTACHMENT_MISSING ? &missing : &changed;
        dw_text_add(list, "%s%s", list->length ? "; " : "", dw_attachment_name(attachment));
        found.count++;
    }
    dw_records_clear(&records);
    dw_text_add(&missing, "%s", "");
    dw_text_add(&changed, "%s", "");
    found.missing = dw_text_take(&missing);
    found.changed = dw_text_take(&changed);
    *troubles = found;
    return DW_OK;
}

void dw_attachment_troubles_clear(DwAttachmentTroubles *troubles)
{
    free(troubles->missing);
    free(troubles->changed);
    *troubles = (DwAttachmentTroubles){0};
}
