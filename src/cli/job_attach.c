// SPDX-License-Identifier: MIT
// Files that are kept on a job: photographs, recordings, documents.
#include "base/content.h"
#include "base/tongue.h"
#include "book/store/attachment.h"
#include "book/store/folder.h"
#include "cli/book_call.h"
#include "report/picture.h"
#include "cli/tell.h"

#include <string.h>
#include <sys/stat.h>

// The kinds of content that may be kept as KIND.
static unsigned contents_of(int kind)
{
    switch ((DwAttachmentKind)kind) {
    case DW_ATTACHMENT_PHOTO:
    case DW_ATTACHMENT_STYLUS:
    case DW_ATTACHMENT_SIGNATURE:
    case DW_ATTACHMENT_PACKAGING:
        return DW_CONTENT_PICTURE;
    case DW_ATTACHMENT_RECORDING:
        return DW_CONTENT_SOUND;
    case DW_ATTACHMENT_DOCUMENT:
        break;
    }
    return DW_CONTENT_PICTURE | DW_CONTENT_SOUND | DW_CONTENT_DOCUMENT;
}

static DwStatus refuse_content(const char *path, const DwContent *content, DwMessage *message)
{
    if (!content)
        return dw_fail(message, DW_BAD_INPUT,
                       "%s is no picture, recording or PDF that this program knows. Nothing was kept. With "
                       "kind=document it is kept as it is, and shown nowhere.",
                       path);
    return dw_fail(message, DW_BAD_INPUT, "%s is a %s file. Nothing was kept. Leave kind= out, or give kind=document.",
                   path, content->name);
}

// A picture that the papers and pages draw is looked at first, as the page does: one that is cut off shows nothing.
static DwStatus check_shown(const char *path, const DwContent *content, int kind, DwMessage *message)
{
    enum { SIDE_MOST = 400 };
    bool drawn = kind != DW_ATTACHMENT_DOCUMENT && content &&
                 (strcmp(content->name, "JPEG") == 0 || strcmp(content->name, "PNG") == 0);
    DwPicture *picture = NULL;
    DwMessage why;
    if (drawn && dw_picture_read(path, SIDE_MOST, 0, &picture, &why) != DW_OK)
        return dw_fail(message, DW_BAD_INPUT,
                       "%s cannot be shown: it is damaged, cut off or too large. Nothing was kept. Copy it again from "
                       "where it comes from; with kind=document it is kept as it is, and shown nowhere.",
                       path);
    dw_picture_free(picture);
    return DW_OK;
}

// The kind that was asked for where the content of the file at PATH allows it, else the one that the content tells.
static DwStatus settle_kind(const DwBook *book, const char *path, bool asked, int *kind, DwMessage *message)
{
    struct stat status;
    if (dw_folder_is_database(dw_book_folder(book), path) || stat(path, &status) != 0 || !S_ISREG(status.st_mode) ||
        status.st_size == 0)
        return DW_OK; // which is refused with its own words
    const DwContent *content = dw_content_of_file(path);
    if (asked && (content ? content->kind & contents_of(*kind) : *kind == DW_ATTACHMENT_DOCUMENT))
        return check_shown(path, content, *kind, message);
    if (asked || !content)
        return refuse_content(path, content, message);
    switch (content->kind) {
    case DW_CONTENT_PICTURE:
        *kind = DW_ATTACHMENT_PHOTO;
        break;
    case DW_CONTENT_SOUND:
        *kind = DW_ATTACHMENT_RECORDING;
        break;
    case DW_CONTENT_DOCUMENT:
        *kind = DW_ATTACHMENT_DOCUMENT;
        break;
    }
    return check_shown(path, content, *kind, message);
}

static DwStatus tell_twin(DwBook *book, const DwAttachment *attachment, DwMessage *message)
{
    int64_t twin, job;
    DwStatus status = dw_attachment_twin(book, attachment, &twin, &job, message);
    if (status == DW_OK && twin)
        dw_tell(
            stderr,
            job ? "deckwright: The same file is in the book already: attachment %lld of job %04lld. Both are kept.\n"
                : "deckwright: The same file is in the book already: attachment %lld. Both are kept.\n",
            (long long)twin, (long long)job);
    return status;
}

DwStatus dw_job_call_attach(DwBookCall *call, DwMessage *message)
{
    DwAttachment attachment;
    dw_record_init(&attachment.record, &dw_attachment_entity);
    DwStatus status = dw_book_call_set(call, &attachment.record, message);
    if (status == DW_OK)
        status = dw_job_call_id(call, &attachment.job_id, message);
    if (status == DW_OK)
        status = settle_kind(call->book, call->words[1], dw_book_call_operand(call, "kind"), &attachment.kind, message);
    if (status == DW_OK)
        status = dw_attachment_add(call->book, &attachment, call->words[1], message);
    if (status == DW_OK) {
        dw_book_call_print(call, &attachment.record);
        status = tell_twin(call->book, &attachment, message);
    }
    dw_record_clear(&attachment.record);
    return status;
}
