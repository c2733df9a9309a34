// SPDX-License-Identifier: MIT
// The photographs of a job in the order of the strip-down: taking them, looking
// through them, before beside after.
#include "base/memory.h"
#include "base/text.h"
#include "web/job/job_head.h"
#include "web/page/page.h"
#include "web/photo/pages.h"
#include "web/photo/photo.h"
#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>

enum {
    PHOTOS_AT_ONCE = 40,
    BYTES_MOST = 100 << 20, // of one photograph
};

// Both ways to give pictures: a telephone's camera takes one at a time, its album gives several.
static const char *const inputs[] = {"taken", "chosen"};

static const DwAttachment *at(const DwRecords *records, size_t index)
{
    return (const DwAttachment *)dw_records_at(records, index);
}

static void write_input(DwPage *page, const char *name, const char *id, const char *words, bool camera)
{
    DwHtml *html = page->html;
    dw_html_open(html, "div", "class", "give", NULL);
    dw_html_element(html, "label", words, "for", id, "class", "button", NULL);
    // Asked for by name, a telephone that keeps its pictures in another form sends JPEG.
    dw_html_void(html, "input", "type", "file", "id", id, "name", name, "accept",
                 camera ? "image/jpeg,image/png" : "image/jpeg,image/png,image/heic,.heic,.heif", "capture",
                 camera ? "environment" : DW_HTML_NONE, "multiple", DW_HTML_BARE, NULL);
    dw_html_close(html, "div");
}

// The phase that is likeliest now.
static int usual_phase(const DwJob *job)
{
    if (job->state <= DW_JOB_ESTIMATING)
        return DW_PHASE_AS_RECEIVED;
    return job->state >= DW_JOB_VERIFYING ? DW_PHASE_AS_LEFT : DW_PHASE_DURING;
}

static void write_form(DwPage *page, const DwJob *job, const char *path)
{
    DwHtml *html = page->html;
    dw_html_open(html, "section", "id", "add", "aria-labelledby", "add-title", NULL);
    dw_html_element(html, "h2", _("Add photographs"), "id", "add-title", NULL);
    dw_form_begin_files(page, path);
    dw_html_open(html, "div", "class", "fields", NULL);
    dw_photo_choice(page, "phase", _("When"), usual_phase(job), NULL);
    dw_photo_choice(page, "zone", _("Zone"), 0, NULL);
    dw_photo_choice(page, "kind", _("Kind"), DW_ATTACHMENT_PHOTO, NULL);
    dw_form_text(page, "caption", _("Caption"), "", "text",
                 _("The same caption as received and as left makes a pair."));
    dw_html_close(html, "div");
    dw_html_open(html, "div", "class", "acts", NULL);
    write_input(page, "taken", "taken", _("Take a photograph"), true);
    write_input(page, "chosen", "chosen", _("Choose pictures"), false);
    dw_form_button(page, _("Send"));
    dw_html_close(html, "div");
    dw_html_element(html, "progress", "", "id", "sending", "max", "1", "value", "0", "hidden", DW_HTML_BARE,
                    "aria-label", _("Sent so far"), NULL);
    dw_form_end(page);
    dw_html_open(html, "p", "class", "acts", NULL);
    char *phone = dw_text_format("/shop/pair?to=%s", path);
    dw_page_link(page, phone, _("Use a phone"));
    free(phone);
    char *touch = dw_text_format("/job/%04lld/touch", (long long)job->number);
    dw_page_link(page, touch, _("Measure by photographs"));
    free(touch);
    dw_html_close(html, "p");
    dw_html_close(html, "section");
}

static void write_step(DwPage *page, int64_t id, const char *step, const char *sign, const char *words)
{
    char *path = dw_text_format("/photo/%lld/move", (long long)id);
    dw_form_begin(page, path, false);
    dw_html_element(page->html, "button", sign, "type", "submit", "name", "step", "value", step, "class", "second",
                    "aria-label", words, NULL);
    dw_form_end(page);
    free(path);
}

static void write_photo(DwPage *page, const DwAttachment *photo, size_t number, bool first, bool last)
{
    DwHtml *html = page->html;
    char *path = dw_text_format("/photo/%lld", (long long)photo->record.id),
         *words = dw_photo_words(page->request->book, photo);
    char *earlier = dw_text_format(_("Photograph %zu one place earlier"), number);
    char *later = dw_text_format(_("Photograph %zu one place later"), number);
    dw_html_open(html, "li", "class", "photo", NULL);
    dw_html_open(html, "a", "href", path, NULL);
    dw_photo_show(page, photo, DW_PICTURES_SMALL);
    dw_html_open(html, "span", "class", "caption", NULL);
    dw_html_format(html, "%zu. %s", number, words);
    dw_html_close(html, "span");
    dw_html_close(html, "a");
    dw_html_open(html, "div", "class", "steps", NULL);
    if (!first)
        write_step(page, photo->record.id, "-1", "↑", earlier);
    if (!last)
        write_step(page, photo->record.id, "1", "↓", later);
    dw_html_close(html, "div");
    dw_html_close(html, "li");
    free(path);
    free(words);
    free(earlier);
    free(later);
}

static void write_list(DwPage *page, const DwRecords *all)
{
    size_t count = 0, number = 0;
    for (size_t i = 0; i < all->count; i++)
        count += dw_attachment_is_picture(at(all, i));
    dw_html_element(page->html, "h2", _("In order"), NULL);
    if (count == 0) {
        dw_html_element(page->html, "p", _("There is no photograph yet."), "class", "quiet", NULL);
        return;
    }
    dw_html_open(page->html, "ol", "class", "photos strip", NULL);
    for (size_t i = 0; i < all->count; i++)
        if (dw_attachment_is_picture(at(all, i))) {
            number++;
            write_photo(page, at(all, i), number, number == 1, number == count);
        }
    dw_html_close(page->html, "ol");
}

static void write_half(DwPage *page, const DwAttachment *photo, const char *words)
{
    char *path = dw_text_format("/photo/%lld", (long long)photo->record.id);
    dw_html_open(page->html, "figure", NULL);
    dw_html_open(page->html, "a", "href", path, NULL);
    dw_photo_show(page, photo, DW_PICTURES_LARGE);
    dw_html_close(page->html, "a");
    dw_html_element(page->html, "figcaption", words, NULL);
    dw_html_close(page->html, "figure");
    free(path);
}

static void write_pair(DwPage *page, const DwAttachment *before, const DwAttachment *after)
{
    DwHtml *html = page->html;
    bool captioned = before->caption && *before->caption;
    char *zone = dw_field_word(dw_field_find(&dw_attachment_entity, "zone"), before->zone);
    dw_html_open(html, "section", "class", "pair", NULL);
    dw_html_element(html, "h3", captioned ? before->caption : dw_words(zone), NULL);
    dw_html_open(html, "div", NULL);
    write_half(page, before, _("as received"));
    write_half(page, after, _("as left"));
    dw_html_close(html, "div");
    dw_html_close(html, "section");
    free(zone);
}

// Each picture as received beside the first one as left that answers it and is not taken yet.
static void write_pairs(DwPage *page, const DwRecords *all)
{
    bool *used = dw_memory_new(all->count + 1, sizeof *used), headed = false;
    for (size_t i = 0; i < all->count; i++) {
        size_t other = 0;
        while (other < all->count && (used[other] || !dw_attachment_is_picture(at(all, other)) ||
                                      !dw_attachment_answers(at(all, other), at(all, i))))
            other++;
        if (other == all->count || !dw_attachment_is_picture(at(all, i)))
            continue;
        if (!headed) {
            dw_html_element(page->html, "h2", _("Before and after"), NULL);
            dw_html_open(page->html, "div", "class", "pairs", NULL);
        }
        headed = used[other] = true;
        write_pair(page, at(all, i), at(all, other));
    }
    if (headed)
        dw_html_close(page->html, "div");
    free(used);
}

static DwAnswer write_page(const DwWebRequest *request, const DwJob *job, const DwRecords *all)
{
    char *path = dw_text_format("/job/%04lld/photos", (long long)job->number);
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = _("Photographs"),
                                                        .style = "photo.css",
                                                        .first = "send.js",
                                                        .script = "photos.js",
                                                        .room = DW_ROOM_BOARD});
    dw_job_head_write(page, job, _("Photographs"));
    write_form(page, job, path);
    dw_photo_frame_write(page, job, all);
    dw_html_open(page->html, "div", "id", "list", NULL);
    write_list(page, all);
    write_pairs(page, all);
    dw_html_close(page->html, "div");
    free(path);
    return dw_page_end(page);
}

static DwAnswer show_photos(const DwWebRequest *request)
{
    return dw_job_head_attached(request, write_page);
}

// Reads every picture whole before any is kept, so that a bad one leaves nothing half done.
static DwStatus check_files(const DwSentFile *files, size_t count, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; i < count && status == DW_OK; i++) {
        DwPictureCopy copy = {0};
        DwMessage why;
        if (files[i].bytes > BYTES_MOST)
            status = dw_fail(&why, DW_BAD_INPUT, "The file is larger than 100 MB.");
        else
            status = dw_picture_copy(files[i].path, 400, 0, &copy, &why);
        free(copy.bytes);
        if (status != DW_OK)
            dw_fail(message, status, "%s: %s Nothing was kept.", files[i].name, why.text);
    }
    return status;
}

static DwStatus set_fields(const DwWebRequest *request, DwAttachment *attachment, DwMessage *message)
{
    static const char *const keys[] = {"phase", "zone", "kind", "caption"};
    DwStatus status = DW_OK;
    for (size_t i = 0; i < sizeof keys / sizeof *keys && status == DW_OK; i++)
        if (dw_request_sent(request, keys[i]))
            status =
                dw_record_set(request->book, &attachment->record, keys[i], dw_request_field(request, keys[i]), message);
    if (status == DW_OK && !dw_attachment_is_picture(attachment))
        status = dw_fail(message, DW_BAD_INPUT, "A photograph, a stylus image or packaging is added here.");
    return status;
}

static DwStatus keep_file(const DwWebRequest *request, const DwJob *job, const DwSentFile *file, DwMessage *message)
{
    DwAttachment attachment;
    dw_record_init(&attachment.record, &dw_attachment_entity);
    attachment.job_id = job->record.id;
    attachment.deck_id = job->deck_id;
    attachment.original_name = dw_memory_text(file->name);
    DwStatus status = set_fields(request, &attachment, message);
    if (status == DW_OK)
        status = dw_attachment_add(request->book, &attachment, file->path, message);
    dw_record_clear(&attachment.record);
    return status;
}

static size_t sent_files(const DwWebRequest *request, DwSentFile files[PHOTOS_AT_ONCE])
{
    size_t count = 0;
    for (size_t i = 0; i < sizeof inputs / sizeof *inputs; i++)
        for (size_t n = 0; count < PHOTOS_AT_ONCE && dw_request_file_at(request, inputs[i], n, &files[count]); n++)
            count++;
    return count;
}

static DwAnswer add_photos(const DwWebRequest *request)
{
    DwAnswer answer;
    DwJob job;
    if (dw_job_head_find(request, &job, &answer)) {
        DwSentFile files[PHOTOS_AT_ONCE];
        DwMessage message;
        size_t count = sent_files(request, files);
        DwStatus status = count
                              ? check_files(files, count, &message)
                              : dw_fail(&message, DW_BAD_INPUT, "No picture came. Take or choose one and send again.");
        for (size_t i = 0; i < count && status == DW_OK; i++)
            status = keep_file(request, &job, &files[i], &message);
        for (size_t i = 0; i < sizeof inputs / sizeof *inputs && status == DW_OK; i++)
            dw_request_file_taken(request, inputs[i]);
        if (status == DW_OK)
            answer = dw_photo_leave(request, job.record.id,
                                    dw_words_count("The photograph is kept.", "The photographs are kept.", count));
        else
            answer = dw_answer_trouble(status, &message);
    }
    dw_record_clear(&job.record);
    return answer;
}

const DwWebRoute dw_routes_photos[] = {
    {"GET", "/job/:number/photos", show_photos, false},
    {"POST", "/job/:number/photos", add_photos, false},
    {0},
};
