// SPDX-License-Identifier: MIT
#include "web/live/live_room.h"
#include "web/live/pages.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/shop/settings.h"
#include "book/store/attachment.h"
#include "procedure/live/live_inputs.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { RECORDINGS_MOST = 20 };

static const char recording_mark[] = "recording:";
static const double LEVEL_LOW_DB = -60; // the low end of the bars

// One row to choose by; LEVEL is of a device, else NULL. One that is not known yet is hidden until the script knows it.
static void write_row(DwPage *page, const char *value, const char *words, const char *chosen,
                      const DwLiveInputLook *level)
{
    DwHtml *html = page->html;
    char number[24];
    bool has_moved = level && level->has_moved, is_known = level && !isnan(level->level_db);
    snprintf(number, sizeof number, "%.1f", is_known ? fmax(LEVEL_LOW_DB, level->level_db) : LEVEL_LOW_DB);
    dw_html_open(html, "label", "class", has_moved ? "input-row moved" : "input-row", "data-name", value, NULL);
    dw_html_void(html, "input", "type", "radio", "name", "input", "value", value, "required", DW_HTML_BARE, "checked",
                 DW_HTML_IF(strcmp(chosen, value) == 0), NULL);
    dw_html_element(html, "span", words, "data-part", "label", NULL);
    dw_html_element(html, "strong", _("this one moves"), "data-part", "moved", "hidden", DW_HTML_IF(!has_moved), NULL);
    if (level)
        dw_html_element(html, "meter", "", "data-part", "level", "min", "-60", "max", "0", "value", number,
                        "aria-label", _("Level"), "hidden", DW_HTML_IF(!is_known), NULL);
    dw_html_close(html, "label");
}

static void write_inputs(DwPage *page, const DwLiveInputsLook *look, bool monitors, const char *chosen)
{
    for (size_t i = 0; i < look->count; i++) {
        const DwLiveInputLook *input = &look->inputs[i];
        if (input->is_device && input->is_monitor == monitors)
            write_row(page, input->name, input->label, chosen, input);
    }
}

static bool holds(const DwLiveInputsLook *look, bool monitors, const char *name)
{
    bool found = false;
    for (size_t i = 0; i < look->count; i++)
        found = found || (look->inputs[i].is_device && look->inputs[i].is_monitor == monitors &&
                          (!name || strcmp(look->inputs[i].name, name) == 0));
    return found;
}

static void write_monitors(DwPage *page, const DwLiveInputsLook *look, const char *chosen)
{
    if (!holds(look, true, NULL))
        return;
    dw_html_open(page->html, "details", "open", DW_HTML_IF(holds(look, true, chosen)), NULL);
    dw_html_element(page->html, "summary", _("What the computer plays"), NULL);
    write_inputs(page, look, true, chosen);
    dw_html_close(page->html, "details");
}

// The newest recordings first.
static void write_recordings(DwPage *page, int64_t job)
{
    DwRecords all = {.entity = &dw_attachment_entity};
    DwMessage message;
    if (dw_attachment_recordings(page->request->book, job, RECORDINGS_MOST, &all, &message) != DW_OK)
        return;
    if (all.count > 0) {
        dw_html_open(page->html, "details", NULL);
        dw_html_element(page->html, "summary", _("A recording, played at its own speed without being heard"), NULL);
    }
    for (size_t i = all.count; i-- > 0;) {
        const DwAttachment *recording = (const DwAttachment *)dw_records_at(&all, i);
        char *words = dw_text_format(_("Recording: %s"), dw_attachment_name(recording));
        char *value = dw_text_format("%s%lld", recording_mark, (long long)recording->record.id);
        write_row(page, value, words, "", NULL);
        free(words);
        free(value);
    }
    if (all.count > 0)
        dw_html_close(page->html, "details");
    dw_records_clear(&all);
}

// What stands chosen: what was used last, where it is there now; else the first device, or the tone.
// The second place begins with another one than the first. The caller frees it.
static char *first_choice(const DwPage *page, unsigned place, const DwLiveInputsLook *look)
{
    char *last = dw_settings_text(page->request->book, "live.input"), *first = NULL;
    for (size_t i = 0; i < look->count && !first; i++) {
        const DwLiveInputLook *input = &look->inputs[i];
        if (place ? input->is_device && strcmp(input->name, last) != 0 : strcmp(input->name, last) == 0)
            first = dw_memory_text(input->name);
    }
    for (size_t i = 0; i < look->count && !first && !place; i++)
        if (look->inputs[i].is_device && !look->inputs[i].is_monitor)
            first = dw_memory_text(look->inputs[i].name);
    free(last);
    return first ? first : dw_memory_text("tone");
}

void dw_live_choice_write(DwPage *page, unsigned place, int64_t job)
{
    DwLiveInputsLook look;
    DwMessage message;
    DwHtml *html = page->html;
    DwLiveInputs *inputs = dw_live_room_inputs(page->request->site->live);
    DwStatus status = dw_live_inputs_look(inputs, DW_LIVE_LOOK_AT_ONCE, &look, &message);
    if (status != DW_OK)
        dw_page_remark(page, dw_message_said(&message));
    else if (look.count == 0)
        dw_page_remark(page, _("The inputs are still being looked for. Refresh the page in a moment."));
    else if (look.server_is_silent)
        dw_page_remark(page,
                       _("The sound server does not answer. Wait a moment and refresh the page, or start it again."));
    else if (look.count == 1)
        dw_page_remark(page, _("No sound device is plugged in. The test tone shows what this page does."));
    char *chosen = first_choice(page, place, &look);
    dw_html_open(html, "fieldset", "class", "inputs", NULL);
    dw_html_element(html, "legend", _("Input"), NULL);
    write_inputs(page, &look, false, chosen);
    if (holds(&look, false, NULL))
        dw_html_element(html, "small", _("Tap the needle or the arm: the input that moves is marked."), NULL);
    write_monitors(page, &look, chosen);
    if (status == DW_OK)
        write_row(page, "tone", _("Test tone, 3150 Hz (no device)"), chosen, NULL);
    write_recordings(page, job);
    dw_html_element(html, "p", _("Something was plugged in or out. Refresh the page to see it."), "class", "news",
                    "hidden", DW_HTML_BARE, NULL);
    dw_html_close(html, "fieldset");
    free(chosen);
    dw_live_inputs_look_clear(&look);
}

static DwStatus find_recording(const DwWebRequest *request, const char *id, DwLiveChoice *choice, DwMessage *message)
{
    DwAttachment recording;
    char *end;
    long long number = strtoll(id, &end, 10);
    dw_record_init(&recording.record, &dw_attachment_entity);
    DwStatus status =
        *end || number <= 0 ? DW_BAD_INPUT : dw_record_load(request->book, &recording.record, number, message);
    if (status == DW_BAD_INPUT || (status == DW_OK && recording.kind != DW_ATTACHMENT_RECORDING))
        status =
            dw_fail(message, DW_BAD_INPUT, "%s", _("There is no such recording in the book. Choose one of the list."));
    if (status == DW_OK) {
        char *path = dw_attachment_path(request->book, &recording);
        *choice = (DwLiveChoice){dw_text_format("file:%s", path), dw_memory_text(dw_attachment_name(&recording))};
        free(path);
    }
    dw_record_clear(&recording.record);
    return status;
}

static DwStatus find_input(const DwWebRequest *request, const char *name, DwLiveChoice *choice, DwMessage *message)
{
    DwLiveInputsLook look;
    DwStatus status =
        dw_live_inputs_look(dw_live_room_inputs(request->site->live), DW_LIVE_LOOK_LISTED, &look, message);
    bool file = strncmp(name, "file:", 5) == 0; // whatever a device calls itself
    for (size_t i = 0; i < look.count && !file && !choice->input; i++) {
        const DwLiveInputLook *input = &look.inputs[i];
        if (strcmp(input->name, name) == 0)
            *choice =
                (DwLiveChoice){dw_memory_text(name), dw_memory_text(input->is_device ? input->label : _("Test tone"))};
    }
    bool is_silent = look.server_is_silent;
    dw_live_inputs_look_clear(&look);
    if (status != DW_OK || choice->input)
        return status;
    if (is_silent)
        return dw_fail(message, DW_BAD_INPUT, "%s",
                       _("The sound server does not answer. Wait a moment and try again, or start it again."));
    return dw_fail(message, DW_BAD_INPUT, "%s",
                   _("There is no such input now. Plug it in, reload the page and choose it there."));
}

DwStatus dw_live_choice_remember(const DwWebRequest *request, const char *value, DwMessage *message)
{
    char *last = dw_settings_text(request->book, "live.input");
    bool is_kept = strcmp(last, value) == 0 || strncmp(value, recording_mark, strlen(recording_mark)) == 0;
    free(last);
    return is_kept ? DW_OK : dw_settings_set(request->book, "live.input", value, message);
}

DwStatus dw_live_choice_find(const DwWebRequest *request, const char *value, DwLiveChoice *choice, DwMessage *message)
{
    size_t mark = strlen(recording_mark);
    *choice = (DwLiveChoice){0};
    if (strncmp(value, recording_mark, mark) == 0)
        return find_recording(request, value + mark, choice, message);
    return find_input(request, value, choice, message);
}

void dw_live_choice_clear(DwLiveChoice *choice)
{
    free(choice->input);
    free(choice->label);
    *choice = (DwLiveChoice){0};
}
