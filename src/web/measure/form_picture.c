// SPDX-License-Identifier: MIT
#include "web/measure/form_picture.h"

#include "base/memory.h"
#include "base/text.h"
#include "chart/sheet/arm_view.h"
#include "chart/sheet/form_view.h"
#include "chart/sheet/sheet_picture.h"
#include "web/server/words.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

enum { WIDE = 800, NARROW = 480 };

static const char empty[] = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"800\" height=\"1\"/>";

// Those whose sheet has a drawing of the arm and that need no recording, and those with a drawing of what is asked.
static bool has_drawing(const DwProcedure *procedure)
{
    static const char *const names[] = {"align", "rake", "template"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (strcmp(procedure->name, names[i]) == 0)
            return true;
    return dw_form_view_fits(procedure->name);
}

static void add_encoded(DwText *text, const char *value)
{
    for (; *value; value++)
        if (isalnum((unsigned char)*value) || strchr("-._~", *value))
            dw_text_add(text, "%c", *value);
        else
            dw_text_add(text, "%%%02X", (unsigned)(unsigned char)*value);
}

// The address of the drawing, with what stands in the form now.
static char *path_of(const DwMeasureForm *form, const DwPage *page, unsigned wide, const char *look)
{
    DwText path = {0};
    dw_text_add(&path, "/measure/%s/picture?wide=%u&look=%s", form->procedure->name, wide, look);
    for (const char *const *key = form->procedure->quantities; *key; key++) {
        const char *known = dw_inputs_typed(form->known, *key);
        const char *value = form->posted ? dw_request_field(page->request, *key) : known ? known : "";
        if (!*value)
            continue;
        dw_text_add(&path, "&%s=", *key);
        add_encoded(&path, value);
    }
    return dw_text_take(&path);
}

// One look of the drawing, for screens of MEDIA; NULL: for all others.
static void write_look(DwPage *page, const DwMeasureForm *form, const char *media, unsigned wide, const char *look)
{
    char *path = path_of(form, page, wide, look);
    char *width = dw_text_format("%u", wide);
    if (media)
        dw_html_void(page->html, "source", "media", media, "srcset", path, "data-look", look, "data-wide", width,
                     "type", "image/svg+xml", NULL);
    else
        dw_html_void(page->html, "img", "src", path, "data-look", look, "data-wide", width, "alt",
                     _("What is measured, drawn from what stands in this form"), NULL);
    free(width);
    free(path);
}

void dw_form_picture_write(DwPage *page, const DwMeasureForm *form)
{
    if (!has_drawing(form->procedure))
        return;
    DwHtml *html = page->html;
    char *place = dw_text_format("/measure/%s/picture", form->procedure->name);
    dw_html_open(html, "figure", "class", "as-typed", "data-drawn", place, NULL);
    dw_html_open(html, "picture", NULL);
    // On a telephone, and where it stands beside the form (measure.css), its column is too narrow for the wide one.
    write_look(page, form,
               "(max-width: 640px) and (prefers-color-scheme: dark), "
               "(min-width: 1100px) and (max-width: 1500px) and (prefers-color-scheme: dark)",
               NARROW, "dark");
    write_look(page, form, "(max-width: 640px), (min-width: 1100px) and (max-width: 1500px)", NARROW, "light");
    write_look(page, form, "(prefers-color-scheme: dark)", WIDE, "dark");
    write_look(page, form, NULL, WIDE, "light");
    dw_html_close(html, "picture");
    dw_html_close(html, "figure");
    free(place);
}

// Takes VALUE, a line each where KEY repeats. What cannot be used is left out: the form says so at its field.
static void take(DwInputs *inputs, const char *key, const char *value)
{
    bool lines = dw_quantity_find(key)->repeats;
    while (*value) {
        size_t length = lines ? strcspn(value, "\r\n") : strlen(value);
        char *line = dw_text_format("%.*s", (int)length, value);
        if (length)
            dw_inputs_set_once(inputs, key, line, NULL);
        free(line);
        value += length;
        value += strspn(value, "\r\n");
    }
}

// The sheet of what the address says, with what was FOUND or without; NULL while it says too little.
static DwSheet *sheet_of(const DwWebRequest *request, const DwProcedure *procedure, bool found)
{
    DwInputs *inputs = dw_inputs_new();
    for (const char *const *key = procedure->quantities; *key; key++)
        if (found || strncmp(*key, "found.", strlen("found.")) != 0)
            take(inputs, *key, dw_request_query(request, *key));
    DwSheet *sheet = NULL;
    DwMessage unused;
    DwRequest asked = {.inputs = inputs};
    if (dw_procedure_run(procedure, &asked, &sheet, &unused) != DW_OK)
        sheet = NULL;
    dw_inputs_free(inputs);
    return sheet;
}

static DwAnswer send_drawing(const DwWebRequest *request, const DwSheet *sheet)
{
    char *bytes = NULL;
    size_t length = 0;
    DwMessage message;
    bool dark = strcmp(dw_request_query(request, "look"), "dark") == 0,
         narrow = dw_request_id(request, "wide") == NARROW;
    DwSheetPage *page = dw_sheet_page_new(sheet, NULL);
    // The drawing of the arm stands before the plots.
    DwStatus status = dw_sheet_picture_render(page, 0, narrow ? NARROW : WIDE, dark ? DW_THEME_DARK : DW_THEME_LIGHT,
                                              &bytes, &length, &message);
    dw_sheet_page_free(page);
    return status == DW_OK ? dw_answer_bytes_asked("image/svg+xml", bytes, length)
                           : dw_answer_trouble(status, &message);
}

// The plan that the address names, where it is one of the bench's own.
static bool read_plan(const DwWebRequest *request, DwBandPlan *plan)
{
    char *path = dw_measure_plan_path(dw_request_query(request, "record.plan"));
    DwMessage unused;
    bool read = path && dw_band_plan_read(path, plan, &unused) == DW_OK;
    free(path);
    return read;
}

// What the form asks for, with what it says so far.
static DwAnswer send_view(const DwWebRequest *request, const DwProcedure *procedure)
{
    char *bytes = NULL;
    size_t length = 0;
    DwMessage message;
    DwInputs *inputs = dw_inputs_new();
    for (const char *const *key = procedure->quantities; *key; key++)
        if (!dw_measure_plan_is(*key))
            take(inputs, *key, dw_request_query(request, *key));
    bool dark = strcmp(dw_request_query(request, "look"), "dark") == 0,
         narrow = dw_request_id(request, "wide") == NARROW;
    DwBandPlan plan = {0};
    bool planned = dw_form_view_wants_plan(procedure->name) && read_plan(request, &plan);
    DwSheet *sheet = dw_form_view_wants_sheet(procedure->name) ? sheet_of(request, procedure, true) : NULL;
    DwFormSaid said = {inputs, planned ? &plan : NULL, sheet};
    DwStatus status = dw_form_view_render(procedure->name, &said, narrow ? NARROW : WIDE,
                                          dark ? DW_THEME_DARK : DW_THEME_LIGHT, &bytes, &length, &message);
    if (planned)
        dw_band_plan_clear(&plan);
    dw_sheet_free(sheet);
    dw_inputs_free(inputs);
    return status == DW_OK ? dw_answer_bytes_asked("image/svg+xml", bytes, length)
                           : dw_answer_trouble(status, &message);
}

DwAnswer dw_form_picture_send(const DwWebRequest *request)
{
    const DwProcedure *procedure = dw_procedure_find(dw_request_path(request, "procedure"));
    if (!procedure)
        return dw_answer_refusal(404, _("Nothing of that name can be measured here."));
    if (dw_form_view_fits(procedure->name))
        return send_view(request, procedure);
    DwSheet *sheet = has_drawing(procedure) ? sheet_of(request, procedure, true) : NULL;
    // The first of two readings as found says nothing yet: the arm itself is drawn meanwhile.
    if (has_drawing(procedure) && !sheet)
        sheet = sheet_of(request, procedure, false);
    DwAnswer answer = sheet && dw_arm_view_fits(sheet)
                          ? send_drawing(request, sheet)
                          : dw_answer_bytes_asked("image/svg+xml", dw_memory_text(empty), strlen(empty));
    dw_sheet_free(sheet);
    return answer;
}
