// SPDX-License-Identifier: MIT
#include "book/store/attachment.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/store/folder.h"
#include "book/store/private.h"

#include <errno.h>
#include <ctype.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const DwField fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwAttachment, job_id), .refers = "job"},
    {"deck_id", "Deck", DW_FIELD_REFERENCE, offsetof(DwAttachment, deck_id), .refers = "deck"},
    {"stylus_id", "Stylus", DW_FIELD_REFERENCE, offsetof(DwAttachment, stylus_id), .refers = "stylus"},
    {"kind", "Kind", DW_FIELD_CHOICE, offsetof(DwAttachment, kind),
     .choices = "photo|stylus image|signature|recording|document|packaging"},
    {"phase", "When", DW_FIELD_CHOICE, offsetof(DwAttachment, phase), .choices = DW_PHASE_WORDS},
    {"position", "Order", DW_FIELD_INTEGER, offsetof(DwAttachment, position)},
    {"zone", "Zone", DW_FIELD_CHOICE, offsetof(DwAttachment, zone), .choices = DW_ATTACHMENT_ZONES},
    {"caption", "Caption", DW_FIELD_TEXT, offsetof(DwAttachment, caption), .lines = true, .personal = true},
    {"turn", "Quarter turns", DW_FIELD_INTEGER, offsetof(DwAttachment, turn),
     .help = "Clockwise, 0 to 3: how it is shown. The file stays as it came."},
    {"scale_um_per_pixel", "Scale", DW_FIELD_REAL, offsetof(DwAttachment, scale_um_per_pixel),
     .help = "Micrometres a pixel, from a picture of a graticule at the same setting."},
    {"personal", "Shows a person or a home", DW_FIELD_YES, offsetof(DwAttachment, personal)},
    {"original_name", "Original name", DW_FIELD_TEXT, offsetof(DwAttachment, original_name), .personal = true,
     .kept = true},
    {"file", "File", DW_FIELD_TEXT, offsetof(DwAttachment, file), .required = true, .kept = true},
    {"bytes", "Bytes", DW_FIELD_INTEGER, offsetof(DwAttachment, bytes), .kept = true},
    {"digest", "SHA-256", DW_FIELD_TEXT, offsetof(DwAttachment, digest), .required = true, .kept = true},
    {"at", "At", DW_FIELD_MOMENT, offsetof(DwAttachment, at), .required = true, .kept = true},
    {"who", "By", DW_FIELD_TEXT, offsetof(DwAttachment, who), .kept = true},
};

const DwEntity dw_attachment_entity = {"attachment",
                                       "attachment",
                                       sizeof(DwAttachment),
                                       fields,
                                       sizeof fields / sizeof *fields,
                                       .of_customer = DW_JOBS_OF_CUSTOMER};

static char *attachments_folder(const DwBook *book)
{
    return dw_text_format("%s/attachments", dw_book_folder(book));
}

// A name that no other file has: sixteen random figures and the ending of NAME.
static char *new_name(const char *name)
{
    uint64_t drawn;
    sqlite3_randomness(sizeof drawn, &drawn);
    const char *dot = strrchr(name, '.');
    char ending[10] = "";
    for (size_t i = 0; dot && dot[i] && i < sizeof ending - 1; i++) {
        if (i > 0 && !isalnum((unsigned char)dot[i])) {
            ending[0] = '\0';
            break;
        }
        ending[i] = (char)tolower((unsigned char)dot[i]);
        ending[i + 1] = '\0';
    }
    return dw_text_format("%016llx%s", (unsigned long long)drawn, ending);
}

static DwStatus keep_row(DwBook *book, DwAttachment *attachment, const char *name, DwMessage *message)
{
    const char *slash = strrchr(name, '/');
    if (!attachment->original_name || !*attachment->original_name)
        dw_field_replace(&attachment->original_name, slash ? slash + 1 : name);
    dw_field_stamp(book, &attachment->at, &attachment->who);
    DwStatus status = DW_OK;
    if (attachment->position == 0 && attachment->job_id)
        status = dw_query_number(book, "SELECT coalesce(max(position), 0) + 1 FROM attachment WHERE job_id = ?",
                                 attachment->job_id, &attachment->position, message);
    return status == DW_OK ? dw_record_keep(book, &attachment->record, message) : status;
}

// Whether the file NAME may be kept: neither the book itself, nor a device or pipe that may never end, nor nothing.
static DwStatus check_file(const DwBook *book, const char *name, DwMessage *message)
{
    struct stat status;
    if (dw_folder_is_database(dw_book_folder(book), name))
        return dw_fail(message, DW_BAD_INPUT, "%s is the book itself. Give the file of a picture or document.", name);
    if (stat(name, &status) != 0)
        return DW_OK; // the copying says why
    if (!S_ISREG(status.st_mode))
        return dw_fail(message, DW_BAD_INPUT, "%s is no ordinary file. Give the file of a picture or document.", name);
    if (status.st_size == 0)
        return dw_fail(message, DW_BAD_INPUT, "%s is empty (0 bytes). Copy it again from where it comes from.", name);
    return DW_OK;
}

// Puts the file there while the book is locked for writing: whoever sweeps files
// without a row holds the same lock and never meets a file whose row is coming.
static DwStatus add(DwBook *book, DwAttachment *attachment, const char *name, const void *bytes, size_t length,
                    DwMessage *message)
{
    DwStatus status = bytes ? DW_OK : check_file(book, name, message);
    if (status == DW_OK)
        status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    bool named = attachment->original_name && *attachment->original_name;
    char *folder = attachments_folder(book), *file = new_name(named ? attachment->original_name : name), digest[65];
    int error = bytes ? dw_file_write(folder, file, bytes, length)
                      : dw_file_copy(name, folder, file, digest, &attachment->bytes);
    char *path = dw_text_format("%s/%s", folder, file);
    if (!error && bytes)
        error = dw_file_digest(path, digest, &attachment->bytes);
    if (error)
        status = dw_fail(message, error == ENOENT || error == EACCES || error == EISDIR ? DW_BAD_INPUT : DW_FAILED,
                         "%s could not be put into the book: %s. Nothing was kept of it.", name, strerror(error));
    if (status == DW_OK) {
        dw_field_replace(&attachment->file, file);
        dw_field_replace(&attachment->digest, digest);
        status = keep_row(book, attachment, name, message);
    }
    status = dw_book_end(book, status, message);
    if (status != DW_OK) {
        attachment->record.id = 0;
        unlink(path);
    }
    free(folder);
    free(file);
    free(path);
    return status;
}

DwStatus dw_attachment_add(DwBook *book, DwAttachment *attachment, const char *path, DwMessage *message)
{
    return add(book, attachment, path, NULL, 0, message);
}

DwStatus dw_attachment_add_bytes(DwBook *book, DwAttachment *attachment, const char *name, const void *bytes,
                                 size_t length, DwMessage *message)
{
    return add(book, attachment, name, bytes ? bytes : "", length, message);
}

DwStatus dw_attachment_twin(DwBook *book, const DwAttachment *attachment, int64_t *twin, int64_t *job,
                            DwMessage *message)
{
    DwQuery query =
        dw_query_begin(book, "SELECT attachment.id, number FROM attachment LEFT JOIN job ON job.id = job_id "
                             "WHERE digest = ? AND attachment.id <> ? ORDER BY attachment.id LIMIT 1");
    dw_query_bind_text(&query, attachment->digest);
    dw_query_bind_integer(&query, attachment->record.id);
    bool found = dw_query_step(&query);
    *twin = found ? dw_query_integer(&query, 0) : 0;
    *job = found ? dw_query_integer(&query, 1) : 0;
    return dw_query_end(&query, message);
}

char *dw_attachment_path(const DwBook *book, const DwAttachment *attachment)
{
    return dw_text_format("%s/attachments/%s", dw_book_folder(book), attachment->file);
}

DwStatus dw_attachment_doom(DwBook *book, const char *where, int64_t id, DwMessage *message)
{
    char *sql = dw_text_format("INSERT INTO doomed_file (file) SELECT file FROM attachment WHERE %s", where);
    DwQuery query = dw_query_begin(book, sql);
    dw_query_bind_integer(&query, id);
    DwStatus status = dw_query_finish(&query, message);
    free(sql);
    return status;
}

// Strikes FILE off the list of what is to go; one that could not be removed stays on it.
static DwStatus remove_file(DwBook *book, const char *file, DwMessage *message)
{
    char *path = dw_text_format("%s/attachments/%s", dw_book_folder(book), file);
    bool gone = unlink(path) == 0 || errno == ENOENT;
    free(path);
    if (!gone)
        return DW_OK;
    DwQuery query = dw_query_begin(book, "DELETE FROM doomed_file WHERE file = ?");
    dw_query_bind_text(&query, file);
    return dw_query_finish(&query, message);
}

static DwStatus remove_files(DwBook *book, DwMessage *message)
{
    char **files = NULL;
    size_t count = 0;
    DwQuery query = dw_query_begin(book, "SELECT file FROM doomed_file");
    while (dw_query_step(&query)) {
        files = dw_memory_resize(files, count + 1, sizeof *files);
        files[count++] = dw_memory_text(dw_query_text(&query, 0));
    }
    DwStatus status = dw_query_end(&query, message);
    for (size_t i = 0; i < count; i++) {
        if (status == DW_OK)
            status = remove_file(book, files[i], message);
        free(files[i]);
    }
    free(files);
    return status;
}

// The list forgets a file only when its name is off the disk for good: a file that a loss of power
// brings back would be a stranger, with a person's data in it.
DwStatus dw_attachment_remove_doomed(DwBook *book, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    status = remove_files(book, message);
    char *folder = attachments_folder(book);
    int error = status == DW_OK ? dw_file_settle(folder) : 0;
    if (error)
        status = dw_fail(message, DW_FAILED, "%s: %s.", folder, strerror(error));
    free(folder);
    return dw_book_end(book, status, message);
}

DwStatus dw_attachment_remove(DwBook *book, int64_t id, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    DwAttachment attachment;
    dw_record_init(&attachment.record, &dw_attachment_entity);
    attachment.record.id = id;
    status = dw_attachment_doom(book, "id = ?", id, message);
    if (status == DW_OK)
        status = dw_record_remove(book, &attachment.record, message);
    dw_record_clear(&attachment.record);
    status = dw_book_end(book, status, message);
    return status == DW_OK ? dw_attachment_remove_doomed(book, message) : status;
}

DwStatus dw_attachment_of_job(DwBook *book, int64_t job, DwRecords *attachments, DwMessage *message)
{
    return dw_record_select(book, &dw_attachment_entity, "WHERE job_id = ? ORDER BY position, id", job, attachments,
                            message);
}

DwStatus dw_attachment_recordings(DwBook *book, int64_t job, size_t most, DwRecords *recordings, DwMessage *message)
{
    char *sql = dw_text_format("WHERE id IN (SELECT id FROM attachment WHERE %s AND kind = 'recording' "
                               "ORDER BY id DESC LIMIT %zu) ORDER BY id",
                               job ? "job_id = ?" : "?1 = 0", most);
    DwStatus status = dw_record_select(book, &dw_attachment_entity, sql, job, recordings, message);
    free(sql);
    return status;
}

const char *dw_attachment_name(const DwAttachment *attachment)
{
    const char *caption = attachment->caption, *name = attachment->original_name;
    return caption && *caption ? caption : name ? name : "";
}

bool dw_attachment_is_picture(const DwAttachment *attachment)
{
    return attachment->kind == DW_ATTACHMENT_PHOTO || attachment->kind == DW_ATTACHMENT_STYLUS ||
           attachment->kind == DW_ATTACHMENT_PACKAGING;
}

bool dw_attachment_answers(const DwAttachment *later, const DwAttachment *first)
{
    const char *one = first->caption ? first->caption : "", *other = later->caption ? later->caption : "";
    if (first->phase != DW_PHASE_AS_RECEIVED || later->phase != DW_PHASE_AS_LEFT || strcmp(one, other) != 0)
        return false;
    return *one || (first->zone && first->zone == later->zone);
}

// Swaps the picture at INDEX with the next one in the direction of STEP.
static void swap_pictures(const DwRecords *attachments, size_t *order, size_t index, int step)
{
    size_t other = index;
    do {
        other += (size_t)step; // wraps past the first: not below the count either
    } while (other < attachments->count &&
             !dw_attachment_is_picture((const DwAttachment *)dw_records_at(attachments, order[other])));
    if (other >= attachments->count)
        return;
    size_t kept = order[index];
    order[index] = order[other];
    order[other] = kept;
}

// Counts the positions anew: earlier ones may repeat or have gaps.
static DwStatus number_anew(DwBook *book, const DwRecords *attachments, const size_t *order, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; i < attachments->count && status == DW_OK; i++) {
        DwAttachment *attachment = (DwAttachment *)dw_records_at(attachments, order[i]);
        attachment->position = (int64_t)i + 1;
        status = dw_record_save(book, &attachment->record, message);
    }
    return status;
}

static DwStatus move(DwBook *book, int64_t id, int step, DwMessage *message)
{
    DwAttachment attachment;
    DwRecords all;
    dw_record_init(&attachment.record, &dw_attachment_entity);
    DwStatus status = dw_record_load(book, &attachment.record, id, message);
    int64_t job = attachment.job_id;
    dw_record_clear(&attachment.record);
    if (status == DW_OK)
        status = dw_attachment_of_job(book, job, &all, message);
    if (status != DW_OK)
        return status;
    size_t *order = dw_memory_new(all.count + 1, sizeof *order), index = all.count;
    for (size_t i = 0; i < all.count; i++) {
        order[i] = i;
        index = dw_records_at(&all, i)->id == id ? i : index;
    }
    if (index < all.count)
        swap_pictures(&all, order, index, step);
    status = number_anew(book, &all, order, message);
    free(order);
    dw_records_clear(&all);
    return status;
}

DwStatus dw_attachment_move(DwBook *book, int64_t attachment, int step, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    return dw_book_end(book, move(book, attachment, step, message), message);
}
