// SPDX-License-Identifier: MIT
#include "web/measure/measure_recordings.h"

#include "audio/source.h"
#include "base/memory.h"
#include "base/text.h"
#include "book/store/attachment.h"
#include "procedure/job/job_sheet.h"
#include "web/page/page.h"
#include "base/content.h"
#include "web/server/words.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static size_t slots(const DwProcedure *procedure)
{
    size_t most = procedure->recordings_most;
    return most < DW_MEASURE_RECORDINGS_MOST ? most : (size_t)DW_MEASURE_RECORDINGS_MOST;
}

// What is sent for each kind of measurement, and how it is asked for.
static const struct {
    const char *accept, *one, *legend, *none;
    int kept; // as what it is kept on a job
} kinds[] = {
    [DW_TAKES_SOUND] = {"audio/*,video/mp4", N_("Recording"), N_("What was recorded"),
                        N_("Choose the recording that is to be measured."), DW_ATTACHMENT_RECORDING},
    [DW_TAKES_FILM] = {"video/*", N_("Film"), N_("What was filmed"), N_("Choose the film that is to be measured."),
                       DW_ATTACHMENT_RECORDING},
    [DW_TAKES_PHOTOS] = {"image/*", N_("Photograph"), N_("What was photographed"),
                         N_("Choose the photograph that is to be measured."), DW_ATTACHMENT_PHOTO},
};

// The recordings kept on the form's job; none without a job.
static DwRecords kept_recordings(const DwWebRequest *request, const DwMeasureForm *form)
{
    DwRecords all = {.entity = &dw_attachment_entity};
    if (form->has_job && dw_attachment_of_job(request->book, form->job.record.id, &all, NULL) != DW_OK)
        all = (DwRecords){.entity = &dw_attachment_entity};
    return all;
}

static const DwAttachment *recording_at(const DwRecords *records, const DwProcedure *procedure, size_t index)
{
    const DwAttachment *attachment = (const DwAttachment *)dw_records_at(records, index);
    return attachment->kind == kinds[procedure->takes].kept ? attachment : NULL;
}

static size_t count_recordings(const DwRecords *records, const DwProcedure *procedure)
{
    size_t count = 0;
    for (size_t i = 0; i < records->count; i++)
        count += recording_at(records, procedure, i) != NULL;
    return count;
}

static void write_kept(DwPage *page, const DwProcedure *procedure, const DwRecords *kept, size_t slot)
{
    size_t count = 0;
    const char **words = dw_memory_new(kept->count + 1, sizeof *words);
    const char **values = dw_memory_new(kept->count + 1, sizeof *values);
    char(*ids)[24] = dw_memory_new(kept->count + 1, sizeof *ids);
    words[count] = _("None of them");
    values[count++] = "";
    for (size_t i = 0; i < kept->count; i++) {
        const DwAttachment *recording = recording_at(kept, procedure, i);
        if (!recording)
            continue;
        snprintf(ids[count], sizeof *ids, "%lld", (long long)recording->record.id);
        words[count] = dw_attachment_name(recording);
        values[count] = ids[count];
        count++;
    }
    char name[24];
    snprintf(name, sizeof name, "kept%zu", slot + 1);
    bool sent = dw_request_sent(page->request, name);
    dw_form_choice(page, name, _("Or one kept on the job"), words, values, count,
                   sent ? dw_request_field(page->request, name) : dw_request_query(page->request, name), NULL);
    free(words);
    free(values);
    free(ids);
}

// What came for the field NAME in pieces need not be sent again: the form names it once more.
static void write_sent(DwPage *page, const char *name)
{
    static const char *const parts[] = {"sent", "name", "bytes"};
    DwSentFile file;
    char *key = dw_text_format("%s.sent", name);
    bool came = *dw_request_field(page->request, key) && dw_request_file(page->request, name, &file);
    free(key);
    if (!came)
        return;
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        char *field = dw_text_format("%s.%s", name, parts[i]);
        dw_html_void(page->html, "input", "type", "hidden", "name", field, "value",
                     dw_request_field(page->request, field), NULL);
        free(field);
    }
    char *words =
        dw_text_format(_("%s is on the bench computer already; it is measured unless you choose another."), file.name);
    dw_html_element(page->html, "small", words, "class", "sent", NULL);
    free(words);
}

static void write_slot(DwPage *page, const DwMeasureForm *form, const DwRecords *kept, size_t slot)
{
    static const char *const labels[] = {
        N_("First recording"), N_("Second recording"), N_("Third recording"),   N_("Fourth recording"),
        N_("Fifth recording"), N_("Sixth recording"),  N_("Seventh recording"), N_("Eighth recording"),
    };
    static const char *const photographs[] = {
        N_("First photograph"), N_("Second photograph"), N_("Third photograph"),   N_("Fourth photograph"),
        N_("Fifth photograph"), N_("Sixth photograph"),  N_("Seventh photograph"), N_("Eighth photograph"),
    };
    const char *const *names = form->procedure->takes == DW_TAKES_PHOTOS ? photographs : labels;
    DwHtml *html = page->html;
    char name[24], id[32];
    snprintf(name, sizeof name, "recording%zu", slot + 1);
    snprintf(id, sizeof id, "file-%zu", slot + 1);
    dw_html_open(html, "div", "class", "field", NULL);
    dw_html_element(html, "label",
                    slots(form->procedure) == 1 ? dw_words(kinds[form->procedure->takes].one) : dw_words(names[slot]),
                    "for", id, NULL);
    dw_html_void(html, "input", "type", "file", "id", id, "name", name, "accept", kinds[form->procedure->takes].accept,
                 "aria-describedby", form->recordings ? "recordings-wrong" : DW_HTML_NONE, NULL);
    write_sent(page, name);
    dw_html_close(html, "div");
    if (count_recordings(kept, form->procedure))
        write_kept(page, form->procedure, kept, slot);
}

// One recording can also be taken by the live page, which then asks for this measurement.
static void write_live(DwPage *page, const DwMeasureForm *form)
{
    if (form->procedure->recordings_least != 1 || form->procedure->takes != DW_TAKES_SOUND)
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

// Photographs of a job in which places are to be touched have a page for that, with a loupe.
static void write_touch(DwPage *page, const DwMeasureForm *form)
{
    if (form->procedure->takes != DW_TAKES_PHOTOS || form->procedure->recordings_least < 2 || !form->has_job)
        return;
    char *path =
        dw_text_format("/job/%04lld/touch%s%s", (long long)form->job.number, *form->as ? "?as=" : "", form->as);
    dw_page_link(page, path, _("Touch in the photographs"));
    free(path);
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
                    procedure->recordings_least ? dw_words(kinds[procedure->takes].legend)
                                                : _("A recording, if there is one"),
                    NULL);
    if (form->recordings)
        dw_html_element(html, "p", form->recordings, "class", "wrong", "id", "recordings-wrong", NULL);
    for (size_t i = 0; i < at_once; i++)
        write_slot(page, form, &kept, i);
    if (count > at_once) {
        dw_html_open(html, "details", NULL);
        dw_html_element(html, "summary",
                        procedure->takes == DW_TAKES_PHOTOS ? _("Further photographs") : _("Further recordings"), NULL);
        for (size_t i = at_once; i < count; i++)
            write_slot(page, form, &kept, i);
        dw_html_close(html, "details");
    }
    write_live(page, form);
    write_touch(page, form);
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
static void add_kept(const DwWebRequest *request, const DwProcedure *procedure, const DwRecords *kept, const char *name,
                     DwMeasureRecordings *recordings)
{
    long long id = strtoll(dw_request_field(request, name), NULL, 10);
    for (size_t i = 0; id && i < kept->count; i++) {
        const DwAttachment *recording = recording_at(kept, procedure, i);
        if (!recording || recording->record.id != id)
            continue;
        char *path = dw_attachment_path(request->book, recording);
        add(recordings, path, dw_attachment_name(recording), false);
        free(path);
        return;
    }
}

static bool is_of_the_kind(const DwProcedure *procedure, const DwContent *content)
{
    switch (procedure->takes) {
    case DW_TAKES_FILM:
        return content && content->may_be_film;
    case DW_TAKES_PHOTOS:
        return content && content->kind == DW_CONTENT_PICTURE;
    case DW_TAKES_SOUND:
        break;
    }
    return content && content->kind == DW_CONTENT_SOUND;
}

// What is said of a file called NAME that is nothing PROCEDURE measures. The caller frees it with free().
static char *not_of_the_kind(const DwProcedure *procedure, const char *name)
{
    switch (procedure->takes) {
    case DW_TAKES_FILM:
        return dw_text_format(_("%s is no film. Send it as the telephone saved it: MP4, MOV or WebM."), name);
    case DW_TAKES_PHOTOS:
        return dw_text_format(_("%s is no photograph. Send JPEG, PNG or HEIC."), name);
    case DW_TAKES_SOUND:
        break;
    }
    return dw_text_format(_("%s is no recording. Send WAV, FLAC, AIFF, Ogg, MP3 or M4A."), name);
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
            add_kept(request, form->procedure, &kept, chosen, recordings);
            continue;
        }
        if (is_of_the_kind(form->procedure, dw_content_of_file(file.path)))
            add(recordings, file.path, file.name, true);
        else
            form->recordings = not_of_the_kind(form->procedure, file.name);
    }
    dw_records_clear(&kept);
    size_t least = form->procedure->recordings_least;
    if (!form->recordings && recordings->count < least)
        form->recordings = dw_memory_text(least == 1 ? dw_words(kinds[form->procedure->takes].none)
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

static void name_saying(const DwMeasureRecordings *recordings, DwSaying *saying)
{
    dw_measure_recordings_name_in(recordings, &saying->text);
    for (size_t i = 0; i < saying->part_count; i++)
        dw_measure_recordings_name_in(recordings, &saying->parts[i]);
}

void dw_measure_recordings_name(const DwMeasureRecordings *recordings, DwSheet *sheet)
{
    dw_measure_recordings_name_in(recordings, &sheet->subject);
    for (size_t i = 0; i < sheet->input_count; i++)
        dw_measure_recordings_name_in(recordings, &sheet->inputs[i].text);
    for (size_t i = 0; i < sheet->remark_count; i++)
        name_saying(recordings, &sheet->remarks[i]);
    for (size_t i = 0; i < sheet->caution_count; i++)
        name_saying(recordings, &sheet->cautions[i]);
    for (size_t i = 0; i < sheet->not_measured_count; i++)
        name_saying(recordings, &sheet->not_measured[i].reason);
    for (size_t i = 0; i < sheet->table_count; i++) {
        DwTable *table = &sheet->tables[i];
        for (size_t c = 0; c < table->row_count * table->column_count; c++)
            dw_measure_recordings_name_in(recordings, &table->cells[c].word);
    }
}

// What a file that a person calls NAME is called when it leaves the book again: with an ending, so that it opens by a
// tap. The file at PATH may lie under another name. The caller frees it with free().
static char *file_name(const char *name, const char *path)
{
    const char *dot = strrchr(name, '.');
    bool ends = dot && isalpha((unsigned char)dot[1]) && strlen(dot) <= 5;
    const DwContent *content = ends ? NULL : dw_content_of_file(path);
    return dw_text_format("%s%s", name, content ? content->ending : "");
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
    attachment.kind = kinds[form->procedure->takes].kept;
    attachment.phase = (int)phase;
    attachment.caption = dw_memory_text(name);
    attachment.original_name = file_name(name, path);
    DwStatus status = dw_attachment_add(request->book, &attachment, path, message);
    int64_t twin = 0, job = 0;
    if (status == DW_OK)
        status = dw_attachment_twin(request->book, &attachment, &twin, &job, message);
    if (status == DW_OK && twin && job == form->job.number) // the very same one is kept there already
        status = dw_attachment_remove(request->book, attachment.record.id, message);
    dw_record_clear(&attachment.record);
    return status;
}

// Whether PATH is worth keeping for another try: a recording that opens, a film or a photograph by its content.
static bool can_be_read(const DwProcedure *procedure, const char *path)
{
    if (procedure->takes != DW_TAKES_SOUND)
        return is_of_the_kind(procedure, dw_content_of_file(path));
    DwSource *source = NULL;
    DwMessage unread;
    bool opens = dw_source_open(path, &source, &unread) == DW_OK;
    dw_source_close(source);
    return opens;
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
        if (!recordings->sent[i] || (failed && !can_be_read(form->procedure, recordings->paths[i])))
            continue;
        status = dw_measure_recordings_keep_one(request, form, recordings->paths[i], recordings->names[i], message);
        *kept += status == DW_OK;
    }
    return status;
}
