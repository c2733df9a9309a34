// SPDX-License-Identifier: MIT
// One photograph: large, turned, named, put in its place, removed. Its file stays as
// it came: the SHA-256 in the book is evidence.
#include "base/text.h"
#include "book/job/job.h"
#include "web/page/page.h"
#include "web/photo/pages.h"
#include "web/photo/photo.h"
#include "web/server/words.h"

#include <stdlib.h>

static char *page_path(const DwAttachment *photo)
{
    return dw_text_format("/photo/%lld", (long long)photo->record.id);
}

static void write_back(DwPage *page, const DwAttachment *photo)
{
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    if (photo->job_id && dw_record_load(page->request->book, &job.record, photo->job_id, NULL) == DW_OK) {
        char *path = dw_text_format("/job/%04lld/photos", (long long)job.number);
        dw_html_open(page->html, "p", "class", "back", NULL);
        dw_html_open(page->html, "a", "href", path, NULL);
        dw_html_format(page->html, _("Photographs of job %04lld"), (long long)job.number);
        dw_html_close(page->html, "a");
        dw_html_close(page->html, "p");
        free(path);
    }
    dw_record_clear(&job.record);
}

static void write_turn(DwPage *page, const DwAttachment *photo)
{
    char *path = dw_text_format("/photo/%lld/turn", (long long)photo->record.id);
    DwHtml *html = page->html;
    dw_form_begin(page, path, false);
    dw_html_open(html, "div", "class", "acts", NULL);
    dw_html_element(html, "button", _("↺ Turn left"), "type", "submit", "name", "by", "value", "3", "class", "second",
                    NULL);
    dw_html_element(html, "button", _("↻ Turn right"), "type", "submit", "name", "by", "value", "1", "class", "second",
                    NULL);
    dw_html_close(html, "div");
    dw_form_end(page);
    free(path);
}

static void write_fields(DwPage *page, const DwAttachment *photo)
{
    char *path = page_path(photo), *revision = dw_text_format("%lld", (long long)photo->record.revision);
    DwHtml *html = page->html;
    dw_html_element(html, "h2", _("What it shows"), NULL);
    dw_form_begin(page, path, false);
    dw_html_void(html, "input", "type", "hidden", "name", "revision", "value", revision, NULL);
    dw_html_open(html, "div", "class", "fields", NULL);
    dw_photo_choice(page, "phase", _("When"), photo->phase, NULL);
    dw_photo_choice(page, "zone", _("Zone"), photo->zone, NULL);
    dw_photo_choice(page, "kind", _("Kind"), photo->kind, NULL);
    dw_form_text(page, "caption", _("Caption"), photo->caption, "text",
                 _("The same caption as received and as left makes a pair."));
    dw_html_close(html, "div");
    dw_form_tick(page, "personal", _("Shows a person or a home: erased with the customer"), photo->personal);
    dw_form_button(page, _("Keep"));
    dw_form_end(page);
    free(path);
    free(revision);
}

static void write_fact(DwPage *page, const char *name, const char *value)
{
    if (!value || !*value)
        return;
    dw_html_element(page->html, "dt", name, NULL);
    dw_html_element(page->html, "dd", value, NULL);
}

static void write_facts(DwPage *page, const DwAttachment *photo, const DwPictureCopy *copy)
{
    char *size = dw_text_format(_("%d × %d pixels, %lld bytes"), copy->width, copy->height, (long long)photo->bytes);
    DwHtml *html = page->html;
    dw_html_open(html, "details", NULL);
    dw_html_element(html, "summary", _("The file"), NULL);
    dw_html_open(html, "dl", "class", "facts", NULL);
    write_fact(page, _("Name"), photo->original_name);
    write_fact(page, _("Size"), size);
    write_fact(page, _("Came"), photo->at);
    write_fact(page, _("By"), photo->who);
    write_fact(page, _("SHA-256"), photo->digest);
    dw_html_close(html, "dl");
    dw_html_element(html, "p",
                    _("It is kept as it came. What is shown here is made from it anew and does not say where or with "
                      "what it was taken."),
                    "class", "quiet", NULL);
    dw_html_close(html, "details");
    free(size);
}

static void write_removal(DwPage *page, const DwAttachment *photo)
{
    char *path = dw_text_format("/photo/%lld/remove", (long long)photo->record.id);
    DwHtml *html = page->html;
    dw_html_open(html, "details", NULL);
    dw_html_element(html, "summary", _("Remove it"), NULL);
    dw_html_element(html, "p",
                    _("The file goes off the disk, with what was measured on it. This cannot be undone; the journal "
                      "says that it was there."),
                    NULL);
    dw_form_begin(page, path, false);
    dw_html_element(html, "button", _("Remove this photograph"), "type", "submit", "class", "danger", NULL);
    dw_form_end(page);
    dw_html_close(html, "details");
    free(path);
}

// A signature is looked at and no more: nothing is measured on it, nothing of it changed.
static void write_parts(DwPage *page, const DwAttachment *photo, const DwPictureCopy *copy)
{
    if (dw_attachment_is_picture(photo)) {
        write_turn(page, photo);
        dw_photo_measure_write(page, photo, copy->width, copy->height);
        write_fields(page, photo);
    } else {
        dw_html_open(page->html, "figure", "class", "large", NULL);
        dw_photo_show(page, photo, DW_PICTURES_LARGE);
        dw_html_close(page->html, "figure");
    }
    write_facts(page, photo, copy);
    if (dw_attachment_is_picture(photo))
        write_removal(page, photo);
}

static DwAnswer write_page(const DwWebRequest *request, const DwAttachment *photo, const DwPictureCopy *copy)
{
    char *words = dw_photo_words(request->book, photo);
    DwPage *page = dw_page_begin(
        request, &(DwPageHead){.title = words, .style = "photo.css", .script = "photo.js", .room = DW_ROOM_BOARD});
    DwHtml *html = page->html;
    write_back(page, photo);
    dw_html_element(html, "h1", words, NULL);
    write_parts(page, photo, copy);
    DwAnswer answer = dw_page_end(page);
    free(words);
    return answer;
}

static DwAnswer show_photo(const DwWebRequest *request)
{
    DwAnswer answer;
    DwAttachment photo;
    DwPictureCopy copy = {0};
    DwMessage message;
    if (dw_photo_find(request, &photo, &answer)) {
        DwStatus status =
            dw_pictures_get(request->site->pictures, request->book, &photo, DW_PICTURES_SMALL, &copy, &message);
        if (status == DW_OK)
            answer = write_page(request, &photo, &copy);
        else
            answer = dw_answer_trouble(status, &message);
        free(copy.bytes);
    }
    dw_record_clear(&photo.record);
    return answer;
}

static DwStatus set_fields(const DwWebRequest *request, DwAttachment *photo, DwMessage *message)
{
    static const char *const keys[] = {"phase", "zone", "kind", "caption", "personal"};
    DwStatus status = DW_OK;
    for (size_t i = 0; i < sizeof keys / sizeof *keys && status == DW_OK; i++)
        if (dw_request_sent(request, keys[i]))
            status = dw_record_set(request->book, &photo->record, keys[i], dw_request_field(request, keys[i]), message);
    if (status == DW_OK && !dw_attachment_is_picture(photo))
        status = dw_fail(message, DW_BAD_INPUT, "It is a picture and stays one.");
    if (dw_request_sent(request, "revision"))
        photo->record.revision = strtoll(dw_request_field(request, "revision"), NULL, 10);
    return status;
}

// Does ACT with the picture of the path and goes back to its page.
static DwAnswer change(const DwWebRequest *request,
                       DwStatus (*act)(const DwWebRequest *request, DwAttachment *photo, DwMessage *message),
                       const char *words)
{
    DwAnswer answer;
    DwAttachment photo;
    DwMessage message;
    if (dw_photo_find(request, &photo, &answer)) {
        char *path = page_path(&photo);
        DwStatus status = dw_attachment_is_picture(&photo)
                              ? act(request, &photo, &message)
                              : dw_fail(&message, DW_BAD_INPUT, "A signature stays as it was given.");
        if (status == DW_OK)
            answer = dw_answer_kept(words, path);
        else
            answer = dw_answer_trouble(status, &message);
        free(path);
    }
    dw_record_clear(&photo.record);
    return answer;
}

static DwStatus keep_fields(const DwWebRequest *request, DwAttachment *photo, DwMessage *message)
{
    DwStatus status = set_fields(request, photo, message);
    return status == DW_OK ? dw_record_save(request->book, &photo->record, message) : status;
}

static DwStatus turn(const DwWebRequest *request, DwAttachment *photo, DwMessage *message)
{
    long by = strtol(dw_request_field(request, "by"), NULL, 10);
    photo->turn = (photo->turn + (by == 3 ? 3 : 1)) % 4;
    return dw_record_save(request->book, &photo->record, message);
}

static DwAnswer keep_photo(const DwWebRequest *request)
{
    return change(request, keep_fields, _("Kept."));
}

static DwAnswer turn_photo(const DwWebRequest *request)
{
    return change(request, turn, _("Turned."));
}

static DwAnswer move_photo(const DwWebRequest *request)
{
    DwAnswer answer;
    DwAttachment photo;
    DwMessage message;
    if (dw_photo_find(request, &photo, &answer)) {
        int step = strtol(dw_request_field(request, "step"), NULL, 10) < 0 ? -1 : 1;
        DwStatus status = dw_attachment_move(request->book, photo.record.id, step, &message);
        if (status == DW_OK)
            answer = dw_photo_leave(request, photo.job_id, _("Moved."));
        else
            answer = dw_answer_trouble(status, &message);
    }
    dw_record_clear(&photo.record);
    return answer;
}

static DwAnswer remove_photo(const DwWebRequest *request)
{
    DwAnswer answer;
    DwAttachment photo;
    DwMessage message;
    if (dw_photo_find(request, &photo, &answer)) {
        DwStatus status = dw_attachment_is_picture(&photo)
                              ? dw_attachment_remove(request->book, photo.record.id, &message)
                              : dw_fail(&message, DW_BAD_INPUT, "A signature is evidence and stays.");
        if (status == DW_OK)
            answer = dw_photo_leave(request, photo.job_id, _("Removed."));
        else
            answer = dw_answer_trouble(status, &message);
    }
    dw_record_clear(&photo.record);
    return answer;
}

const DwWebRoute dw_routes_photo[] = {
    {"GET", "/photo/:id", show_photo, false},           {"POST", "/photo/:id", keep_photo, false},
    {"POST", "/photo/:id/turn", turn_photo, false},     {"POST", "/photo/:id/move", move_photo, false},
    {"POST", "/photo/:id/remove", remove_photo, false}, {0},
};
