// SPDX-License-Identifier: MIT
#include "web/live/pages.h"

#include "audio/live.h"
#include "base/memory.h"
#include "base/text.h"
#include "book/shop/settings.h"
#include "book/store/attachment.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

enum { RECORDINGS_MOST = 20 };

static const char recording_mark[] = "recording:";

// The words and values of a list that is being made.
typedef struct {
    char **words, **values;
    size_t count;
} Options;

static void add_option(Options *options, char *words, char *value)
{
    options->words = dw_memory_resize(options->words, options->count + 1, sizeof *options->words);
    options->values = dw_memory_resize(options->values, options->count + 1, sizeof *options->values);
    options->words[options->count] = words;
    options->values[options->count++] = value;
}

static void add_recordings(const DwWebRequest *request, int64_t job, Options *options)
{
    DwRecords all = {.entity = &dw_attachment_entity};
    DwMessage message;
    size_t count = 0;
    if (dw_record_list(request->book, &dw_attachment_entity, job ? "job_id" : NULL, job, &all, &message) != DW_OK)
        return;
    for (size_t i = all.count; i-- > 0 && count < RECORDINGS_MOST;) { // the newest first
        const DwAttachment *recording = (const DwAttachment *)dw_records_at(&all, i);
        if (recording->kind != DW_ATTACHMENT_RECORDING)
            continue;
        add_option(options, dw_text_format(_("Recording: %s"), dw_attachment_name(recording)),
                   dw_text_format("%s%lld", recording_mark, (long long)recording->record.id));
        count++;
    }
    dw_records_clear(&all);
}

static void add_inputs(const DwLiveList *list, Options *options)
{
    // Devices stand first: whoever has one wants it, and the tone is for trying.
    for (size_t i = 1; i < list->count; i++)
        add_option(options, dw_memory_text(list->inputs[i].label), dw_memory_text(list->inputs[i].name));
    for (size_t i = 0; i < list->count && i < 1; i++)
        add_option(options, dw_memory_text(_("Test tone, 3150 Hz (no device)")), dw_memory_text(list->inputs[i].name));
}

void dw_live_choice_write(DwPage *page, int64_t job)
{
    DwLiveList list;
    DwMessage message;
    Options options = {0};
    if (dw_live_list(&list, &message) == DW_OK) {
        add_inputs(&list, &options);
        if (list.count == 1)
            dw_page_remark(page, _("No sound device is plugged in. The test tone shows what this page does."));
        dw_live_list_clear(&list);
    } else
        dw_page_remark(page, message.text);
    add_recordings(page->request, job, &options);
    char *last = dw_settings_text(page->request->book, "live.input");
    dw_form_choice(page, "input", _("Input"), (const char *const *)options.words, (const char *const *)options.values,
                   options.count, last, _("A recording is played at its own speed, without being heard."));
    free(last);
    for (size_t i = 0; i < options.count; i++) {
        free(options.words[i]);
        free(options.values[i]);
    }
    free(options.words);
    free(options.values);
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

static DwStatus find_input(const char *name, DwLiveChoice *choice, DwMessage *message)
{
    DwLiveList list;
    DwStatus status = dw_live_list(&list, message);
    if (status != DW_OK)
        return status;
    bool file = strncmp(name, "file:", 5) == 0; // whatever a device calls itself
    for (size_t i = 0; i < list.count && !file && !choice->input; i++)
        if (strcmp(list.inputs[i].name, name) == 0)
            *choice = (DwLiveChoice){dw_memory_text(name), dw_memory_text(i ? list.inputs[i].label : _("Test tone"))};
    dw_live_list_clear(&list);
    return choice->input
               ? DW_OK
               : dw_fail(message, DW_BAD_INPUT, "%s",
                         _("There is no such input now. Plug it in, open the page anew and choose it there."));
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
    return find_input(value, choice, message);
}

void dw_live_choice_clear(DwLiveChoice *choice)
{
    free(choice->input);
    free(choice->label);
    *choice = (DwLiveChoice){0};
}
