// SPDX-License-Identifier: MIT
// Two or three photographs of one set-up over a paper with marks: which serve and what is still missing, then the
// places to touch in each, with a loupe and the line on which a point of one photograph must lie in the others.
#include "base/memory.h"
#include "base/text.h"
#include "book/store/attachment.h"
#include "procedure/sight/pose_cameras.h"
#include "web/job/job_head.h"
#include "web/job/job_line.h"
#include "web/page/page.h"
#include "web/photo/photo.h"
#include "web/server/words.h"
#include "web/touch/pages.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PHOTOS_MOST = 3, CAMERA_NUMBERS = 20 };

static const char *const queries[PHOTOS_MOST] = {"one", "two", "three"};

// What can be touched: the field of the measurement, and what it is called.
static const struct {
    const char *key, *words, *other; // OTHER is the end to which a line runs, or NULL
} places[] = {
    {"touch.tip", N_("Stylus tip"), NULL},
    {"touch.cantilever_root", N_("Cantilever, where it comes out"), NULL},
    {"touch.cantilever_front", N_("Cantilever, front end"), "touch.cantilever_root"},
    {"touch.body_rear", N_("Cartridge, one side's upper edge, behind"), NULL},
    {"touch.body_front", N_("The same edge, in front"), "touch.body_rear"},
    {"touch.shell_rear", N_("Headshell, the same side's edge, behind"), NULL},
    {"touch.shell_front", N_("The same edge, in front"), "touch.shell_rear"},
    {"touch.arm_rear", N_("Arm tube, its middle, behind"), NULL},
    {"touch.arm_front", N_("Arm tube, its middle, in front"), "touch.arm_rear"},
    {"touch.pivot", N_("Arm's pivot, on its top"), NULL},
};
enum { PLACES = sizeof places / sizeof *places };

static const char *const wants[DW_POSE_WANTS] = {
    [DW_POSE_WANTS_A_PAPER] =
        N_("No mark of a paper is seen. Lay the printed card, grid or disc flat under the cartridge, bring "
           "all marks into the picture, hold steady and let it focus."),
    [DW_POSE_WANTS_MARKS] =
        N_("Bring all marks into the picture: from a little farther off, in even light, held steadier."),
    [DW_POSE_WANTS_ONE_PAPER] = N_("They show different papers: photograph one and the same."),
    [DW_POSE_WANTS_IT_FLAT] =
        N_("The marks do not lie as on the paper. Lay it flat, print it without fitting, and photograph it "
           "again, in focus."),
    [DW_POSE_WANTS_A_SECOND] =
        N_("Now a second picture of the same set-up, nothing moved: from the left or the right, 40° or more "
           "round."),
    [DW_POSE_WANTS_A_SIDE] =
        N_("They are taken from nearly the same place, which tells no height. Take a second picture from the "
           "left or the right, 40° or more round."),
    [DW_POSE_WANTS_THE_RIGHT] =
        N_("They are taken from nearly the same side, which leaves heights in doubt. Take a picture from "
           "farther to the right."),
    [DW_POSE_WANTS_THE_LEFT] =
        N_("They are taken from nearly the same side, which leaves heights in doubt. Take a picture from "
           "farther to the left."),
};

typedef struct {
    DwPage *page;
    const DwJob *job;
    const DwRecords *all;                    // attachments of the job
    const DwAttachment *chosen[PHOTOS_MOST]; // in the order of the address
    size_t count;
    DwPoseCameras cameras;
} Touching;

static const DwAttachment *photo_at(const DwRecords *all, size_t index)
{
    const DwAttachment *photo = (const DwAttachment *)dw_records_at(all, index);
    return photo->kind == DW_ATTACHMENT_PHOTO ? photo : NULL;
}

static bool is_chosen(const Touching *t, const DwAttachment *photo)
{
    for (size_t i = 0; i < t->count; i++)
        if (t->chosen[i] == photo)
            return true;
    return false;
}

static void choose(Touching *t)
{
    for (size_t i = 0; i < PHOTOS_MOST; i++) {
        int64_t id = dw_request_id(t->page->request, queries[i]);
        for (size_t k = 0; id && k < t->all->count; k++) {
            const DwAttachment *photo = photo_at(t->all, k);
            if (photo && photo->record.id == id && !is_chosen(t, photo))
                t->chosen[t->count++] = photo;
        }
    }
}

// As what the sheet is to be kept, "" where the address does not say it.
static const char *phase_of(const Touching *t)
{
    const char *as = dw_request_query(t->page->request, "as");
    return *dw_job_line_phase(as) ? as : "";
}

// The address of this page with what is chosen, without LEFT_OUT and with ADDED; either may be NULL.
static char *address(const Touching *t, const DwAttachment *left_out, const DwAttachment *added)
{
    DwText text = {0};
    size_t at = 0;
    dw_text_add(&text, "/job/%04lld/touch", (long long)t->job->number);
    for (size_t i = 0; i <= t->count; i++) {
        const DwAttachment *photo = i < t->count ? t->chosen[i] : added;
        if (!photo || photo == left_out)
            continue;
        dw_text_add(&text, "%s%s=%lld", at ? "&" : "?", queries[at], (long long)photo->record.id);
        at++;
    }
    const char *as = phase_of(t);
    if (*as)
        dw_text_add(&text, "%sas=%s", at ? "&" : "?", as);
    return dw_text_take(&text);
}

static void read_cameras(Touching *t)
{
    char *paths[PHOTOS_MOST] = {0};
    for (size_t i = 0; i < t->count; i++)
        paths[i] = dw_attachment_path(t->page->request->book, t->chosen[i]);
    dw_pose_cameras_read((const char *const *)paths, t->count, &t->cameras);
    for (size_t i = 0; i < t->count; i++)
        free(paths[i]);
}

// The photographs of the job that can be taken as the next one.
static void write_choice(const Touching *t)
{
    DwHtml *html = t->page->html;
    size_t left = 0;
    for (size_t i = 0; i < t->all->count; i++)
        left += photo_at(t->all, i) && !is_chosen(t, photo_at(t->all, i));
    if (t->count == PHOTOS_MOST)
        return;
    dw_html_element(html, "h2",
                    t->count == 0   ? _("Choose the first photograph")
                    : t->count == 1 ? _("Choose the second, from another side")
                                    : _("A third, if there is one"),
                    NULL);
    if (left == 0)
        dw_html_element(html, "p", _("There is no other photograph on this job."), "class", "quiet", NULL);
    dw_html_open(html, "ol", "class", "photos", NULL);
    for (size_t i = 0; i < t->all->count; i++) {
        const DwAttachment *photo = photo_at(t->all, i);
        if (!photo || is_chosen(t, photo))
            continue;
        char *path = address(t, NULL, photo), *words = dw_photo_words(t->page->request->book, photo);
        dw_html_open(html, "li", "class", "photo", NULL);
        dw_html_open(html, "a", "href", path, NULL);
        dw_photo_show(t->page, photo, DW_PICTURES_SMALL);
        dw_html_element(html, "span", words, "class", "caption", NULL);
        dw_html_close(html, "a");
        dw_html_close(html, "li");
        free(path);
        free(words);
    }
    dw_html_close(html, "ol");
    char *path = dw_text_format("/job/%04lld/photos", (long long)t->job->number);
    dw_page_link(t->page, path, _("Take photographs"));
    free(path);
}

// What each photograph shows, and what is still missing.
static void write_seen(const Touching *t)
{
    DwHtml *html = t->page->html;
    dw_html_open(html, "div", "role", "status", NULL);
    dw_html_open(html, "ul", "class", "seen", NULL);
    for (size_t i = 0; i < t->count; i++) {
        const DwPoseSeen *seen = &t->cameras.photos[i];
        dw_html_open(html, "li", NULL);
        if (seen->of)
            dw_html_format(html, _("Photograph %zu: %zu of %zu marks are seen."), i + 1, seen->marks, seen->of);
        else
            dw_html_format(html, _("Photograph %zu:"), i + 1);
        if (seen->want != DW_POSE_WANTS_NOTHING) {
            dw_html_text(html, " ");
            dw_html_element(html, "strong", dw_words(wants[seen->want]), NULL);
        }
        char *path = address(t, t->chosen[i], NULL);
        dw_html_text(html, " ");
        dw_html_element(html, "a", _("Take another in its place"), "href", path, NULL);
        free(path);
        dw_html_close(html, "li");
    }
    dw_html_close(html, "ul");
    dw_html_close(html, "div");
    if (t->cameras.want != DW_POSE_WANTS_NOTHING)
        dw_page_remark(t->page, dw_words(wants[t->cameras.want]));
}

// The camera as numbers, for the script: matrix, shift, focus, middle, bend, half diagonal, width, height.
static char *camera_text(const DwBundleCamera *camera)
{
    double numbers[CAMERA_NUMBERS];
    DwText text = {0};
    memcpy(numbers, camera->m, sizeof camera->m);
    memcpy(numbers + 9, camera->shift, sizeof camera->shift);
    const double rest[] = {camera->focus,   camera->middle[0],     camera->middle[1], camera->bend[0],
                           camera->bend[1], camera->half_diagonal, camera->width,     camera->height};
    memcpy(numbers + 12, rest, sizeof rest);
    for (size_t i = 0; i < CAMERA_NUMBERS; i++) {
        char number[40];
        dw_text_decimal(number, sizeof number, numbers[i], 9);
        dw_text_add(&text, "%s%s", i ? " " : "", number);
    }
    return dw_text_take(&text);
}

static void write_board(const Touching *t, size_t index)
{
    const DwAttachment *photo = t->chosen[index];
    const DwBundleCamera *camera = &t->cameras.photos[index].camera;
    DwHtml *html = t->page->html;
    int width = (int)camera->width, height = (int)camera->height, turn = (int)photo->turn;
    char *view = dw_text_format("0 0 %d %d", turn % 2 ? height : width, turn % 2 ? width : height);
    char *w = dw_text_format("%d", turn % 2 ? height : width), *h = dw_text_format("%d", turn % 2 ? width : height);
    char *matrix = dw_photo_turn(width, height, turn), *numbers = camera_text(camera);
    char *path = dw_photo_path(photo, DW_PICTURES_WHOLE), *label = dw_text_format(_("Photograph %zu"), index + 1);
    dw_html_element(html, "h2", label, NULL);
    dw_html_element(html, "p", "", "class", "beside", "role", "status", NULL);
    dw_html_open(html, "div", "class", "board", NULL);
    dw_html_open(html, "svg", "class", "touch", "viewBox", view, "role", "application", "aria-label", label,
                 "aria-describedby", "ask", "tabindex", "0", "data-camera", numbers, NULL);
    dw_html_open(html, "image", "href", path, "width", w, "height", h, NULL);
    dw_html_close(html, "image");
    dw_html_open(html, "g", "class", "placing", "transform", matrix, NULL);
    dw_html_close(html, "g");
    dw_html_close(html, "svg");
    dw_html_open(html, "svg", "class", "loupe", "aria-hidden", "true", "hidden", DW_HTML_BARE, NULL);
    dw_html_close(html, "svg");
    dw_html_close(html, "div");
    dw_html_element(html, "button", _("Not seen here"), "type", "button", "class", "second unseen", NULL);
    free(view);
    free(w);
    free(h);
    free(matrix);
    free(numbers);
    free(path);
    free(label);
}

static void write_places(const Touching *t)
{
    DwHtml *html = t->page->html;
    dw_html_open(html, "fieldset", "class", "kinds places", NULL);
    dw_html_element(html, "legend", _("What is touched now"), NULL);
    for (size_t i = 0; i < PLACES; i++) {
        dw_html_open(html, "label", "class", "tick", NULL);
        dw_html_void(html, "input", "type", "radio", "name", "place", "value", places[i].key, "data-line",
                     places[i].other ? places[i].other : DW_HTML_NONE, "checked", DW_HTML_IF(i == 0), NULL);
        dw_html_element(html, "span", dw_words(places[i].words), NULL);
        dw_html_close(html, "label");
    }
    dw_html_close(html, "fieldset");
}

static void write_form(const Touching *t)
{
    DwPage *page = t->page;
    DwHtml *html = page->html;
    const char *as = phase_of(t);
    char *action = dw_text_format("/measure/pose?job=%04lld%s%s", (long long)t->job->number, *as ? "&as=" : "", as);
    dw_form_begin_files(page, action); // as the measurement's own form sends it
    for (size_t i = 0; i < t->count; i++) {
        char name[32], id[24];
        snprintf(name, sizeof name, "kept%zu", i + 1);
        snprintf(id, sizeof id, "%lld", (long long)t->chosen[i]->record.id);
        dw_html_void(html, "input", "type", "hidden", "name", name, "value", id, NULL);
    }
    dw_html_open(html, "details", NULL);
    dw_html_element(html, "summary", _("The points as numbers"), NULL);
    dw_html_element(
        html, "small",
        _("One line a photograph, in their order: pixels to the right and down from the upper left corner of "
          "the upright picture, with a colon between; 0:0 where it is not seen."),
        NULL);
    for (size_t i = 0; i < PLACES; i++)
        dw_form_area(page, places[i].key, dw_words(places[i].words), dw_request_field(page->request, places[i].key),
                     NULL);
    dw_html_close(html, "details");
    dw_html_open(html, "div", "class", "fields", NULL);
    dw_form_text(page, "touch.uncertainty", _("A touch is right to within ± pixels"), "", "text",
                 _("Left empty: 2. With the loupe and a sharp edge 1."));
    dw_form_text(page, "print.scale", _("Scale of the print, %"), "", "text",
                 _("Left empty: 100. By the ruler on the paper."));
    dw_html_close(html, "div");
    dw_form_button(page, _("Measure"));
    dw_form_end(page);
    free(action);
}

static void write_boards(const Touching *t)
{
    DwHtml *html = t->page->html;
    dw_html_open(html, "section", "id", "touching", "data-off", _("%d pixels beside its line: is it the same point?"),
                 NULL);
    dw_html_element(html, "p", "", "id", "ask", "class", "lead", "role", "status", "data-in",
                    _("%s: touch it in photograph %d"), "data-done",
                    _("%s: touched. Arrow keys move the chosen point."), NULL);
    write_places(t);
    dw_html_element(html, "button", _("Next"), "type", "button", "class", "second", "id", "next", NULL);
    for (size_t i = 0; i < t->count; i++)
        write_board(t, i);
    write_form(t);
    dw_html_close(html, "section");
}

static DwAnswer write_page(const DwWebRequest *request, const DwJob *job, const DwRecords *all)
{
    Touching t = {.job = job, .all = all};
    t.page = dw_page_begin(request, &(DwPageHead){.title = _("Measure by photographs"),
                                                  .style = "photo.css",
                                                  .script = "touch.js",
                                                  .room = DW_ROOM_BOARD,
                                                  .help = "pose"});
    choose(&t);
    dw_job_head_write(t.page, job, _("Measure by photographs"));
    if (t.count == 0)
        dw_html_element(
            t.page->html, "p",
            _("Two photographs or three of the arm over a printed paper with marks, from different sides, nothing "
              "moved between them. What is touched in each is found in millimetres."),
            NULL);
    if (t.count > 0) {
        read_cameras(&t);
        write_seen(&t);
    }
    bool ready = t.count > 1 && t.cameras.placed && t.cameras.want != DW_POSE_WANTS_A_SIDE;
    if (ready)
        write_boards(&t);
    write_choice(&t);
    return dw_page_end(t.page);
}

static DwAnswer show_touch(const DwWebRequest *request)
{
    return dw_job_head_attached(request, write_page);
}

const DwWebRoute dw_routes_touch[] = {
    {"GET", "/job/:number/touch", show_touch, false},
    {0},
};
