// SPDX-License-Identifier: MIT
// A picture out of a film of the job, kept as one of its photographs.
#include "procedure/sight/film_still.h"
#include "base/content.h"
#include "base/memory.h"
#include "base/text.h"
#include "web/job/job_head.h"
#include "web/page/page.h"
#include "web/photo/pages.h"
#include "web/photo/photo.h"
#include "web/server/words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

enum { FILMS_MOST = 32 };

// The film at INDEX of the job's attachments, or NULL where that is something else.
static const DwAttachment *film_at(const DwWebRequest *request, const DwRecords *all, size_t index)
{
    const DwAttachment *one = (const DwAttachment *)dw_records_at(all, index);
    if (one->kind != DW_ATTACHMENT_RECORDING)
        return NULL;
    char *path = dw_attachment_path(request->book, one);
    const DwContent *content = dw_content_of_file(path);
    free(path);
    return content && content->may_be_film ? one : NULL;
}

void dw_photo_frame_write(DwPage *page, const DwJob *job, const DwRecords *all)
{
    char ids[FILMS_MOST][24];
    const char *values[FILMS_MOST], *words[FILMS_MOST];
    size_t count = 0;
    for (size_t i = all->count; i > 0 && count < FILMS_MOST; i--) {
        const DwAttachment *film = film_at(page->request, all, i - 1);
        if (!film)
            continue;
        snprintf(ids[count], sizeof ids[count], "%lld", (long long)film->record.id);
        values[count] = ids[count];
        words[count++] = dw_attachment_name(film);
    }
    if (count == 0)
        return;
    char *path = dw_text_format("/job/%04lld/photos/frame", (long long)job->number);
    dw_html_open(page->html, "details", "id", "frame", NULL);
    dw_html_element(page->html, "summary", _("A picture out of a film"), NULL);
    dw_form_begin(page, path, false);
    dw_html_open(page->html, "div", "class", "fields", NULL);
    dw_form_choice(page, "film", _("Film"), values, words, count, values[0], NULL);
    dw_form_text(page, "second", _("Second of the film"), "0", "text", NULL);
    dw_photo_choice(page, "phase", _("When"), DW_PHASE_AS_RECEIVED, NULL);
    dw_html_close(page->html, "div");
    dw_form_button(page, _("Keep this picture"));
    dw_form_end(page);
    dw_html_close(page->html, "details");
    free(path);
}

static DwStatus keep(const DwWebRequest *request, const DwJob *job, const DwAttachment *film, const char *photo,
                     double at_s, DwMessage *message)
{
    DwAttachment kept;
    char second[32];
    dw_text_decimal(second, sizeof second, at_s, 2);
    dw_record_init(&kept.record, &dw_attachment_entity);
    kept.job_id = job->record.id;
    kept.deck_id = job->deck_id;
    kept.kind = DW_ATTACHMENT_PHOTO;
    kept.original_name = dw_text_format("%s %s s.jpg", dw_attachment_name(film), second);
    kept.caption = dw_text_format("%s, %s s", dw_attachment_name(film), second);
    DwStatus status = dw_record_set(request->book, &kept.record, "phase", dw_request_field(request, "phase"), message);
    if (status == DW_OK)
        status = dw_attachment_add(request->book, &kept, photo, message);
    dw_record_clear(&kept.record);
    return status;
}

// Takes the picture out of FILM into a file that is gone afterwards.
static DwStatus take(const DwWebRequest *request, const DwJob *job, const DwAttachment *film, DwMessage *message)
{
    double second = NAN, at_s = NAN;
    const char *typed = dw_request_field(request, "second"), *end = dw_text_number(typed, &second);
    char *folder = dw_text_format("%s/incoming/frame-XXXXXX", dw_book_folder(request->book));
    DwStatus status =
        end && *end == '\0' ? DW_OK : dw_fail(message, DW_BAD_INPUT, "“%s” is no second of a film. Type 3.5.", typed);
    bool made = status == DW_OK && mkdtemp(folder);
    if (status == DW_OK && !made)
        status = dw_fail(message, DW_FAILED, "The book's disk cannot be written.");
    char *photo = dw_text_format("%s/frame.jpg", folder), *path = dw_attachment_path(request->book, film);
    if (status == DW_OK)
        status = dw_film_still(path, second, photo, &at_s, message);
    if (status == DW_OK)
        status = keep(request, job, film, photo, at_s, message);
    if (made) {
        unlink(photo);
        rmdir(folder);
    }
    free(folder);
    free(photo);
    free(path);
    return status;
}

static DwAnswer keep_frame(const DwWebRequest *request)
{
    DwAnswer answer;
    DwJob job;
    DwRecords all = {.entity = &dw_attachment_entity};
    if (dw_job_head_find(request, &job, &answer)) {
        DwMessage message;
        long long id = strtoll(dw_request_field(request, "film"), NULL, 10);
        const DwAttachment *film = NULL;
        DwStatus status = dw_attachment_of_job(request->book, job.record.id, &all, &message);
        for (size_t i = 0; status == DW_OK && i < all.count && !film; i++)
            if (((const DwAttachment *)dw_records_at(&all, i))->record.id == id)
                film = film_at(request, &all, i);
        if (status == DW_OK)
            status =
                film ? take(request, &job, film, &message)
                     : dw_fail(&message, DW_BAD_INPUT, "There is no such film on this job. Choose one of its films.");
        if (status == DW_OK)
            answer = dw_photo_leave(request, job.record.id, _("The picture is kept."));
        else
            answer = dw_answer_trouble(status, &message);
    }
    dw_records_clear(&all);
    dw_record_clear(&job.record);
    return answer;
}

const DwWebRoute dw_routes_photo_frame[] = {
    {"POST", "/job/:number/photos/frame", keep_frame, false},
    {0},
};
