// SPDX-License-Identifier: MIT
#include "web/photo/photo.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/job/job.h"
#include "web/page/page.h"
#include "web/photo/pages.h"
#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>

static const char *const size_names[DW_PICTURES_SIZES] = {
    [DW_PICTURES_SMALL] = "small", [DW_PICTURES_LARGE] = "large", [DW_PICTURES_WHOLE] = "whole"};

bool dw_photo_find(const DwWebRequest *request, DwAttachment *attachment, DwAnswer *refusal)
{
    DwMessage message;
    dw_record_init(&attachment->record, &dw_attachment_entity);
    DwStatus status = dw_record_load(request->book, &attachment->record, dw_request_id(request, "id"), &message);
    bool shown = dw_attachment_is_picture(attachment) || attachment->kind == DW_ATTACHMENT_SIGNATURE;
    if (status == DW_OK && shown)
        return true;
    if (status == DW_FAILED)
        *refusal = dw_answer_trouble(status, &message);
    else
        *refusal = dw_answer_refusal(404, _("There is no such photograph. It may have been removed."));
    return false;
}

char *dw_photo_words(const DwBook *book, const DwAttachment *attachment)
{
    const char *caption = attachment->caption && *attachment->caption ? attachment->caption : NULL;
    char *zone = attachment->zone
                     ? dw_record_text(book, &attachment->record, dw_field_find(&dw_attachment_entity, "zone"))
                     : dw_memory_text("");
    char *phase = attachment->phase
                      ? dw_record_text(book, &attachment->record, dw_field_find(&dw_attachment_entity, "phase"))
                      : dw_memory_text("");
    char *kind = dw_record_text(book, &attachment->record, dw_field_find(&dw_attachment_entity, "kind"));
    char *text = dw_text_format("%s%s%s", caption ? caption : dw_words(*zone ? zone : kind), *phase ? ", " : "",
                                dw_words(phase));
    free(zone);
    free(phase);
    free(kind);
    return text;
}

char *dw_photo_path(const DwAttachment *attachment, DwPicturesSize size)
{
    return dw_text_format("/photo/%lld/%s?turn=%d", (long long)attachment->record.id, size_names[size],
                          (int)attachment->turn);
}

void dw_photo_show(DwPage *page, const DwAttachment *attachment, DwPicturesSize size)
{
    char *path = dw_photo_path(attachment, size), *words = dw_photo_words(page->request->book, attachment);
    dw_html_void(page->html, "img", "src", path, "alt", words, "loading", size == DW_PICTURES_SMALL ? "lazy" : "eager",
                 NULL);
    free(path);
    free(words);
}

void dw_photo_choice(DwPage *page, const char *key, const char *label, int chosen, const char *help)
{
    const DwField *field = dw_field_find(&dw_attachment_entity, key);
    char *words[64];
    const char *shown[64];
    size_t count = 0;
    while (count < sizeof words / sizeof *words) {
        words[count] = dw_field_word(field, (int)count);
        if (!*words[count]) {
            free(words[count]);
            break;
        }
        shown[count] = dw_words(words[count]);
        count++;
    }
    dw_form_choice(page, key, label, shown, (const char *const *)words, count, words[chosen], help);
    for (size_t i = 0; i < count; i++)
        free(words[i]);
}

char *dw_photo_turn(int width, int height, int turn)
{
    switch (turn) {
    case 1:
        return dw_text_format("matrix(0 1 -1 0 %d 0)", height);
    case 2:
        return dw_text_format("matrix(-1 0 0 -1 %d %d)", width, height);
    case 3:
        return dw_text_format("matrix(0 -1 1 0 0 %d)", width);
    default:
        return dw_memory_text("matrix(1 0 0 1 0 0)");
    }
}

DwAnswer dw_photo_leave(const DwWebRequest *request, int64_t job_id, const char *words)
{
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    char *path = job_id && dw_record_load(request->book, &job.record, job_id, NULL) == DW_OK
                     ? dw_text_format("/job/%04lld/photos", (long long)job.number)
                     : dw_memory_text("/");
    dw_record_clear(&job.record);
    DwAnswer answer = dw_answer_kept(words, path);
    free(path);
    return answer;
}

// The picture itself, written anew: where it was taken and by what does not leave the book.
static DwAnswer send_picture(const DwWebRequest *request)
{
    DwAnswer answer;
    size_t size = 0;
    while (size < DW_PICTURES_SIZES && strcmp(dw_request_path(request, "size"), size_names[size]) != 0)
        size++;
    DwAttachment attachment;
    DwPictureCopy copy;
    DwMessage message;
    bool found = dw_photo_find(request, &attachment, &answer);
    if (found && size == DW_PICTURES_SIZES)
        answer = dw_answer_refusal(404, _("A photograph is shown small, large or whole."));
    else if (found) {
        DwStatus status =
            dw_pictures_get(request->site->pictures, request->book, &attachment, (DwPicturesSize)size, &copy, &message);
        if (status == DW_OK)
            answer = dw_answer_bytes_asked(copy.type, copy.bytes, copy.length);
        else
            answer = dw_answer_trouble(status, &message);
    }
    dw_record_clear(&attachment.record);
    return answer;
}

const DwWebRoute dw_routes_picture[] = {
    {"GET", "/photo/:id/:size", send_picture, false},
    {0},
};
