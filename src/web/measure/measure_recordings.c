// SPDX-License-Identifier: MIT
#include "web/measure/measure_recordings.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/store/attachment.h"
#include "procedure/job/job_sheet.h"
#include "web/page/page.h"
#include "base/content.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static size_t slots(const DwProcedure *procedure)
{
    size_t most = procedure->recordings_most;
    return most < DW_MEASURE_RECORDINGS_MOST ? most : (size_t)DW_MEASURE_RECORDINGS_MOST;
}

// The recordings kept on the form's job; none without a job.
static DwRecords kept_recordings(const DwWebRequest *request, const DwMeasureForm *form)
{
    DwRecords all = {.entity = &dw_attachment_entity};
    if (form->has_job && dw_attachment_of_job(request->book, form->job.record.id, &all, NULL) != DW_OK)
        all = (DwRecords){.entity = &dw_attachment_entity};
    return all;
}

static const DwAttachment *recording_at(const DwRecords *records, size_t index)
{
    const DwAttachment *attachment = (const DwAttachment *)dw_records_at(records, index);
    return attachment->kind == DW_ATTACHMENT_RECORDING ? attachment : NULL;
}

static size_t count_recordings(const DwRecords *records)
{
    size_t count = 0;
    for (size_t i = 0; i < records->count; i++)
        count += recording_at(records, i) != NULL;
    return count;
}

static void write_kept(DwPage *page, const DwRecords *kept, size_t slot)
{
    size_t count = 0;
    const char **words = dw_memory_new(kept->count + 1, sizeof *words);
    const char **values = dw_memory_new(kept->count + 1, sizeof *values);
    char(*ids)[24] = dw_memory_new(kept->count + 1, sizeof *ids);
    words[count] = _("None of them");
    values[count++] = "";
    for (size_t i = 0; i < kept->count; i++) {
        const DwAttachment *recording = recording_at(kept, i);
        if (!recording)
            continue;
        snprintf(ids[count], sizeof *ids, "%lld", (long long)recording->record.id);
        words[count] = dw_attachment_name(recording);
        values[count] = ids[count];
        count++;
    }
    char name[24];
    snprintf(name, sizeof name, "kept%zu", slot + 1);
    dw_form_choice(page, name, _("Or one kept on the job"), words, values, count, dw_request_field(page->request, name),
                   NULL);
    free(words);
    free(values);
    free(ids);
}

static void write_slot(DwPage *page, const DwMeasureForm *form, const DwRecords *kept, size_t slot)
{
    static const char *const labels[] = {
        N_("First recording"), N_("Second recording"), N_("Third recording"),   N_("Fourth recording"),
        N_("Fifth recording"), N_("Sixth recording"),  N_("Seventh recording"), N_("Eighth recording"),
    };
    DwHtml *html = page->html;
    char name[24], id[32];
    snprintf(name, sizeof name, "recording%zu", slot + 1);
    snprintf(id, sizeof id, "file-%zu", slot + 1);
    dw_html_open(html, "div", "class", "field", NULL);
    dw_html_element(html, "label", slots(form->procedure) == 1 ? _("Recording") : dw_words(labels[slot]), "for", id,
                    NULL);
    dw_html_void(html, "input", "type", "file", "id", id, "name", name, "accept", "audio/*,video/mp4",
                 "aria-describedby", form->recordings ? "recordings-wrong" : DW_HTML_NONE, NULL);
    dw_html_close(html, "div");
    if (count_recordings(kept))
        write_kept(page, kept, slot);
}

// One recording can also be taken by the live page, which then asks for this measurement.
static void write_live(DwPage *page, const DwMeasureForm *form)
{
    if (form->procedure->recordings_least != 1)
        return;
    DwText path = {0};
    dw_text_add(&path, "/live?procedure=%s", form->procedure->name);
    if (form->has_job)
        dw_text_add(&path, "&job=%04lld", (long long)form->job.number);
    if (form->has_job && *form->as)
        dw_text_add(&path, "&as=%s", form->as);
    dw_html_open(page->html, "p", NULL);
    dw_html_element(page->html, "a", _("Take it live"), "href", path.chars, "class", "button second", NULL);
    dw_html_close(page->html, "p");
    dw_text_clear(&path);
}

void dw_measure_recordings_write(DwPage *page, const DwMeasureForm *form)
{
    const DwProcedure *procedure = form->procedure;
    DwHtml *html = page->html;
    size_t count = slots(procedure), at_once = procedure->recordings_least ? procedure->recordings_least : 1;
    if (!count)
        return;
    DwRecords kept = kept_recordings(page->request, form);
    dw_html_open(html, "fieldset", NULL);
    dw_html_element(html, "legend",
                    procedure->recordings_least ? _("What was recorded") : _("A recording, if there is one"), NULL);
    if (form->recordings)
        dw_html_element(html, "p", form->recordings, "class", "wrong", "id", "recordings-wrong", NULL);
    for (size_t i = 0; i < at_once; i++)
        write_slot(page, form, &kept, i);
    if (count > at_once) {
        dw_html_open(html, "details", NULL);
        dw_html_element(html, "summary", _("Further recordings"), NULL);
        for (size_t i = at_once; i < count; i++)
            write_slot(page, form, &kept, i);
        dw_html_close(html, "details");
    }
    write_live(page, form);
    if (form->has_job)
        dw_form_tick(page, "keep", _("Keep what I send on the job"),
                     strcmp(dw_request_field(page->request, "keep"), "yes") == 0);
    dw_html_close(html, "fieldset");
    dw_records_clear(&kept);
}

static void add(DwMeasureRecordings *recordings, const char *path, const char *name, bool sent)
{
    recordings->paths[recordings->count] = dw_memory_text(path);
    recordings->names[recordings->count] = dw_memory_text(name);
    recordings->sent[recordings->count++] = sent;
}

// The kept recording that the field NAME asks for; only of the form's own job.
static void add_kept(const DwWebRequest *request, const DwRecords *kept, const char *name,
                     DwMeasureRecordings *recordings)
{
    long long id = strtoll(dw_request_field(request, name), NULL, 10);
    for (size_t i = 0; id && i < kept->count; i++) {
        const DwAttachment *recording = recording_at(kept, i);
        if (!recording || recording->record.id != id)
            continue;
        char *path = dw_attachment_path(request->book, recording);
        add(recordings, path, dw_attachment_name(recording), false);
        free(path);
        return;
    }
}

bool dw_measure_recordings_find(const DwWebRequest *request, DwMeasureForm *form, DwMeasureRecordings *recordings)
{
    *recordings = (DwMeasureRecordings){0};
    DwRecords kept = kept_recordings(request, form);
    for (size_t i = 0; i < slots(form->procedure) && !form->recordings; i++) {
        char sent[24], chosen[24];
        snprintf(sent, sizeof sent, "recording%zu", i + 1);
        snprintf(chosen, sizeof chosen, "kept%zu", i + 1);
        DwSentFile file;
        if (!dw_request_file(request, sent, &file)) {
            add_kept(request, &kept, chosen, recordings);
            continue;
        }
        const DwContent *content = dw_content_of_file(file.path);
        if (content && content->kind & DW_CONTENT_SOUND)
            add(recordings, file.path, file.name, true);
        else
            form->recordings =
                dw_text_format(_("%s is no recording. Send WAV, FLAC, AIFF, Ogg, MP3 or M4A."), file.name);
    }
    dw_records_clear(&kept);
    size_t least = form->procedure->recordings_least;
    if (!form->recordings && recordings->count < least)
        form->recordings = dw_memory_text(least == 1 ? _("Choose the recording that is to be measured.")
                                                     : _("More recordings are needed: choose each of them."));
    return !form->recordings;
}

void dw_measure_recordings_know(DwMeasureRecordings *recordings, const char *path, const char *name)
{
    if (!path || recordings->others)
        return;
    add(recordings, path, name, false);
    recordings->count--;
    recordings->others = 1;
}

void dw_measure_recordings_clear(DwMeasureRecordings *recordings)
{
    for (size_t i = 0; i < recordings->count + recordings->others; i++) {
        free(recordings->paths[i]);
        free(recordings->names[i]);
    }
    *recordings = (DwMeasureRecordings){0};
}

// Puts NAME wherever FROM stands in *WORDS.
static void put_name(char **words, const char *from, const char *name)
{
    if (!*words || !*from || !strstr(*words, from))
        return;
    DwText text = {0};
    const char *at = *words, *found;
    for (; (found = strstr(at, from)); at = found + strlen(from))
        dw_text_add(&text, "%.*s%s", (int)(found - at), at, name);
    dw_text_add(&text, "%s", at);
    free(*words);
    *words = dw_text_take(&text);
}

void dw_measure_recordings_name_in(const DwMeasureRecordings *recordings, char **words)
{
    for (size_t i = 0; i < recordings->count + recordings->others; i++) {
        const char *slash = strrchr(recordings->paths[i], '/');
        put_name(words, recordings->paths[i], recordings->names[i]);
        put_name(words, slash ? slash + 1 : recordings->paths[i], recordings->names[i]);
    }
}

void dw_measure_recordings_name(const DwMeasureRecordings *recordings, DwSheet *sheet)
{
    dw_measure_recordings_name_in(recordings, &sheet->subject);
    for (size_t i = 0; i < sheet->input_count; i++)
        dw_measure_recordings_name_in(recordings, &sheet->inputs[i].text);
    for (size_t i = 0; i < sheet->remark_count; i++)
        dw_measure_recordings_name_in(recordings, &sheet->remarks[i]);
    for (size_t i = 0; i < sheet->caution_count; i++)
        dw_measure_recordings_name_in(recordings, &sheet->cautions[i]);
    for (size_t i = 0; i < sheet->not_measured_count; i++)
        dw_measure_recordings_name_in(recordings, &sheet->not_measured[i].reason);
    for (size_t i = 0; i < sheet->table_count; i++) {
        DwTable *table = &sheet->tables[i];
        for (size_t c = 0; c < table->row_count * table->column_count; c++)
            dw_measure_recordings_name_in(recordings, &table->cells[c].word);
    }
}

DwStatus dw_measure_recordings_keep_one(const DwWebRequest *request, const DwMeasureForm *form, const char *path,
                                        const char *name, DwMessage *message)
{
    DwAttachment attachment;
    DwPhase phase = DW_PHASE_NONE;
    dw_record_init(&attachment.record, &dw_attachment_entity);
    if (dw_job_sheet_phase(form->as, &phase, NULL) != DW_OK)
        phase = DW_PHASE_NONE; // it is not said yet
    attachment.job_id = form->job.record.id;
    attachment.kind = DW_ATTACHMENT_RECORDING;
    attachment.phase = (int)phase;
    attachment.caption = dw_memory_text(name);
    DwStatus status = dw_attachment_add(request->book, &attachment, path, message);
    dw_record_clear(&attachment.record);
    return status;
}

DwStatus dw_measure_recordings_keep(const DwWebRequest *request, const DwMeasureForm *form,
                                    const DwMeasureRecordings *recordings, bool failed, size_t *kept,
                                    DwMessage *message)
{
    DwStatus status = DW_OK;
    *kept = 0;
    if (!form->has_job || (!failed && strcmp(dw_request_field(request, "keep"), "yes") != 0))
        return DW_OK;
    for (size_t i = 0; i < recordings->count && status == DW_OK; i++) {
        if (!recordings->sent[i])
            continue;
        status = dw_measure_recordings_keep_one(request, form, recordings->paths[i], recordings->names[i], message);
        *kept += status == DW_OK;
    }
    return status;
}
