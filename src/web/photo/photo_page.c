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

static void write_back(DwVisit *visit, const DwAttachment *photo)
{
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    if (photo->job_id && dw_record_load(visit->book, &job.record, photo->job_id, NULL) == DW_OK) {
        char *path = dw_text_format("/job/%04lld/photos", (long long)job.number);
        dw_html_open(visit->html, "p", "class", "back", NULL);
        dw_html_open(visit->html, "a", "href", path, NULL);
        dw_html_format(visit->html, _("Photographs of job %04lld"), (long long)job.number);
        dw_html_close(visit->html, "a");
        dw_html_close(visit->html, "p");
        free(path);
    }
    dw_record_clear(&job.record);
}

static void write_turn(DwVisit *visit, const DwAttachment *photo)
{
    char *path = dw_text_format("/photo/%lld/turn", (long long)photo->record.id);
    DwHtml *html = visit->html;
    dw_form_begin(visit, path, false);
    dw_html_open(html, "div", "class", "acts", NULL);
    dw_html_element(html, "button", _("↺ Turn left"), "type", "submit", "name", "by", "value", "3", "class", "second",
                    NULL);
    dw_html_element(html, "button", _("↻ Turn right"), "type", "submit", "name", "by", "value", "1", "class", "second",
                    NULL);
    dw_html_close(html, "div");
    dw_form_end(visit);
    free(path);
}

static void write_fields(DwVisit *visit, const DwAttachment *photo)
{
    char *path = page_path(photo), *revision = dw_text_format("%lld", (long long)photo->record.revision);
    DwHtml *html = visit->html;
    dw_html_element(html, "h2", _("What it shows"), NULL);
    dw_form_begin(visit, path, false);
    dw_html_void(html, "input", "type", "hidden", "name", "revision", "value", revision, NULL);
    dw_html_open(html, "div", "class", "fields", NULL);
    dw_photo_choice(visit, "phase", _("When"), photo->phase, NULL);
    dw_photo_choice(visit, "zone", _("Zone"), photo->zone, NULL);
    dw_photo_choice(visit, "kind", _("Kind"), photo->kind, NULL);
    dw_form_text(visit, "caption", _("Caption"), photo->caption, "text",
                 _("The same caption as received and as left makes a pair."));
    dw_html_close(html, "div");
    dw_form_tick(visit, "personal", _("Shows a person or a home: erased with the customer"), photo->personal);
    dw_form_button(visit, _("Keep"));
    dw_form_end(visit);
    free(path);
    free(revision);
}

static void write_fact(DwVisit *visit, const char *name, const char *value)
{
    if (!value || !*value)
        return;
    dw_html_element(visit->html, "dt", name, NULL);
    dw_html_element(visit->html, "dd", value, NULL);
}

static void write_facts(DwVisit *visit, const DwAttachment *photo, const DwPictureCopy *copy)
{
    char *size = dw_text_format(_("%d × %d pixels, %lld bytes"), copy->width, copy->height, (long long)photo->bytes);
    DwHtml *html = visit->html;
    dw_html_open(html, "details", NULL);
    dw_html_element(html, "summary", _("The file"), NULL);
    dw_html_open(html, "dl", "class", "facts", NULL);
    write_fact(visit, _("Name"), photo->original_name);
    write_fact(visit, _("Size"), size);
    write_fact(visit, _("Came"), photo->at);
    write_fact(visit, _("By"), photo->who);
    write_fact(visit, _("SHA-256"), photo->digest);
    dw_html_close(html, "dl");
    dw_html_element(html, "p",
                    _("It is kept as it came. What is shown here is made from it anew and does not say where or with "
                      "what it was taken."),
                    "class", "quiet", NULL);
    dw_html_close(html, "details");
    free(size);
}

static void write_removal(DwVisit *visit, const DwAttachment *photo)
{
    char *path = dw_text_format("/photo/%lld/remove", (long long)photo->record.id);
    DwHtml *html = visit->html;
    dw_html_open(html, "details", NULL);
    dw_html_element(html, "summary", _("Remove it"), NULL);
    dw_html_element(html, "p",
                    _("The file goes off the disk, with what was measured on it. This cannot be undone; the journal "
                      "says that it was there."),
                    NULL);
    dw_form_begin(visit, path, false);
    dw_html_element(html, "button", _("Remove this photograph"), "type", "submit", "class", "danger", NULL);
    dw_form_end(visit);
    dw_html_close(html, "details");
    free(path);
}

// A signature is looked at and no more: nothing is measured on it, nothing of it changed.
static void write_parts(DwVisit *visit, const DwAttachment *photo, const DwPictureCopy *copy)
{
    if (dw_attachment_is_picture(photo)) {
        write_turn(visit, photo);
        dw_photo_measure_write(visit, photo, copy->width, copy->height);
        write_fields(visit, photo);
    } else {
        dw_html_open(visit->html, "figure", "class", "large", NULL);
        dw_photo_show(visit, photo, DW_PICTURES_LARGE);
        dw_html_close(visit->html, "figure");
    }
    write_facts(visit, photo, copy);
    if (dw_attachment_is_picture(photo))
        write_removal(visit, photo);
}

static DwAnswer write_page(DwVisit *visit, const DwAttachment *photo, const DwPictureCopy *copy)
{
    char *words = dw_photo_words(visit->book, photo);
    DwHtml *html = dw_page_begin(
        visit, &(DwPage){.title = words, .style = "photo.css", .script = "photo.js", .room = DW_ROOM_BOARD});
    write_back(visit, photo);
    dw_html_element(html, "h1", words, NULL);
    write_parts(visit, photo, copy);
    DwAnswer answer = dw_page_end(visit);
    free(words);
    return answer;
}

static DwAnswer show_photo(DwVisit *visit)
{
    DwAnswer answer;
    DwAttachment photo;
    DwPictureCopy copy = {0};
    DwMessage message;
    if (dw_photo_find(visit, &photo, &answer)) {
        DwStatus status =
            dw_pictures_get(visit->site->pictures, visit->book, &photo, DW_PICTURES_SMALL, &copy, &message);
        if (status == DW_OK)
            answer = write_page(visit, &photo, &copy);
        else
            answer = dw_answer_trouble(status, &message);
        free(copy.bytes);
    }
    dw_record_clear(&photo.record);
    return answer;
}

static DwStatus set_fields(DwVisit *visit, DwAttachment *photo, DwMessage *message)
{
    static const char *const keys[] = {"phase", "zone", "kind", "caption", "personal"};
    DwStatus status = DW_OK;
    for (size_t i = 0; i < sizeof keys / sizeof *keys && status == DW_OK; i++)
        if (dw_visit_sent(visit, keys[i]))
            status = dw_record_set(visit->book, &photo->record, keys[i], dw_visit_field(visit, keys[i]), message);
    if (status == DW_OK && !dw_attachment_is_picture(photo))
        status = dw_fail(message, DW_BAD_INPUT, "It is a picture and stays one.");
    if (dw_visit_sent(visit, "revision"))
        photo->record.revision = strtoll(dw_visit_field(visit, "revision"), NULL, 10);
    return status;
}

// Does ACT with the picture of the path and goes back to its page.
static DwAnswer change(DwVisit *visit, DwStatus (*act)(DwVisit *visit, DwAttachment *photo, DwMessage *message),
                       const char *words)
{
    DwAnswer answer;
    DwAttachment photo;
    DwMessage message;
    if (dw_photo_find(visit, &photo, &answer)) {
        char *path = page_path(&photo);
        DwStatus status = dw_attachment_is_picture(&photo)
                              ? act(visit, &photo, &message)
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

static DwStatus keep_fields(DwVisit *visit, DwAttachment *photo, DwMessage *message)
{
    DwStatus status = set_fields(visit, photo, message);
    return status == DW_OK ? dw_record_save(visit->book, &photo->record, message) : status;
}

static DwStatus turn(DwVisit *visit, DwAttachment *photo, DwMessage *message)
{
    long by = strtol(dw_visit_field(visit, "by"), NULL, 10);
    photo->turn = (photo->turn + (by == 3 ? 3 : 1)) % 4;
    return dw_record_save(visit->book, &photo->record, message);
}

static DwAnswer keep_photo(DwVisit *visit)
{
    return change(visit, keep_fields, _("Kept."));
}

static DwAnswer turn_photo(DwVisit *visit)
{
    return change(visit, turn, _("Turned."));
}

static DwAnswer move_photo(DwVisit *visit)
{
    DwAnswer answer;
    DwAttachment photo;
    DwMessage message;
    if (dw_photo_find(visit, &photo, &answer)) {
        int step = strtol(dw_visit_field(visit, "step"), NULL, 10) < 0 ? -1 : 1;
        DwStatus status = dw_attachment_move(visit->book, photo.record.id, step, &message);
        if (status == DW_OK)
            answer = dw_photo_leave(visit, photo.job_id, _("Moved."));
        else
            answer = dw_answer_trouble(status, &message);
    }
    dw_record_clear(&photo.record);
    return answer;
}

static DwAnswer remove_photo(DwVisit *visit)
{
    DwAnswer answer;
    DwAttachment photo;
    DwMessage message;
    if (dw_photo_find(visit, &photo, &answer)) {
        DwStatus status = dw_attachment_is_picture(&photo)
                              ? dw_attachment_remove(visit->book, photo.record.id, &message)
                              : dw_fail(&message, DW_BAD_INPUT, "A signature is evidence and stays.");
        if (status == DW_OK)
            answer = dw_photo_leave(visit, photo.job_id, _("Removed."));
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
