// SPDX-License-Identifier: MIT
// The end of the proof: work, lubricants, parts, photographs, what the numbers cannot show.
#include "base/memory.h"
#include "base/text.h"
#include "book/store/attachment.h"
#include "book/job/photo.h"
#include "book/job/work.h"
#include "chart/draw/number.h"
#include "report/papers.h"
#include "report/picture.h"
#include "report/sentence/sentence.h"
#include "report/standing.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *say(const DwDossier *d, const char *key)
{
    return dw_dossier_say(d, "service", key);
}

// What the guide planned and nobody agreed to is the bench's own affair until it is done.
static bool is_shown_work(const DwOperation *operation)
{
    return dw_operation_is_done(operation) || !operation->place || operation->estimate_line_id;
}

static DwStatus add_operations(DwDossier *d, DwMessage *message)
{
    static const DwPaperColumn columns[] = {
        {"operation", 0.46, DW_CELL_LEFT}, {"done_on", 0.16, DW_CELL_LEFT}, {"note", 0.38, DW_CELL_LEFT}};
    DwRecords operations;
    DwStatus status = dw_dossier_records(d, &dw_operation_entity, &operations, message);
    bool shown = false;
    for (size_t i = 0; status == DW_OK && i < operations.count; i++)
        shown = shown || is_shown_work((const DwOperation *)dw_records_at(&operations, i));
    if (!shown) {
        if (status == DW_OK)
            dw_records_clear(&operations);
        return status;
    }
    dw_piece_heading(d->flow, say(d, "operations"));
    DwPaperTable table = dw_dossier_table(d, "service", columns, 3);
    for (size_t i = 0; i < operations.count; i++) {
        const DwOperation *operation = (const DwOperation *)dw_records_at(&operations, i);
        bool done = dw_operation_is_done(operation);
        if (!is_shown_work(operation))
            continue;
        bool left_out = !done && operation->left_out && *operation->left_out;
        char *day = done ? dw_dossier_day(operation->done_at) : dw_memory_text(say(d, "not_done"));
        dw_piece_table_row(&table, (DwPaperCell[]){{.text = operation->name},
                                                   {.text = day},
                                                   {.text = left_out ? operation->left_out : operation->note}});
        free(day);
    }
    dw_records_clear(&operations);
    return DW_OK;
}

static DwStatus add_lubricants(DwDossier *d, DwMessage *message)
{
    static const DwPaperColumn columns[] = {{"point", 0.3, DW_CELL_LEFT},
                                            {"lubricant", 0.34, DW_CELL_LEFT},
                                            {"quantity_used", 0.14, DW_CELL_LEFT},
                                            {"note", 0.22, DW_CELL_LEFT}};
    DwRecords points;
    DwStatus status = dw_dossier_records(d, &dw_lubrication_entity, &points, message);
    if (status != DW_OK || !points.count)
        return status;
    dw_piece_heading(d->flow, say(d, "lubricants"));
    DwPaperTable table = dw_dossier_table(d, "service", columns, 4);
    for (size_t i = 0; i < points.count; i++) {
        const DwLubrication *point = (const DwLubrication *)dw_records_at(&points, i);
        char *much = isfinite(point->quantity_ml)
                         ? dw_text_format("%s\u202fml", dw_number_print(point->quantity_ml, -1, false).text)
                     : isfinite(point->drops)
                         ? dw_text_format("%s %s", dw_number_print(point->drops, -1, false).text, say(d, "drops"))
                         : dw_memory_text("–");
        dw_piece_table_row(
            &table,
            (DwPaperCell[]){{.text = point->point}, {.text = point->lubricant}, {.text = much}, {.text = point->note}});
        free(much);
    }
    dw_records_clear(&points);
    return DW_OK;
}

static DwStatus add_parts(DwDossier *d, DwMessage *message)
{
    static const DwPaperColumn columns[] = {{"part", 0.36, DW_CELL_LEFT},
                                            {"count", 0.1, DW_CELL_LEFT},
                                            {"condition", 0.18, DW_CELL_LEFT},
                                            {"old", 0.36, DW_CELL_LEFT}};
    DwRecords parts;
    DwStatus status = dw_dossier_records(d, &dw_part_entity, &parts, message);
    if (status != DW_OK || !parts.count)
        return status;
    dw_piece_heading(d->flow, say(d, "parts"));
    DwPaperTable table = dw_dossier_table(d, "service", columns, 4);
    for (size_t i = 0; i < parts.count; i++) {
        const DwFittedPart *part = (const DwFittedPart *)dw_records_at(&parts, i);
        char *condition = dw_dossier_field(d, &part->record, "condition");
        char *old = dw_dossier_field(d, &part->record, "old_part");
        DwNumber count = dw_number_print(part->quantity, -1, false);
        dw_piece_table_row(
            &table, (DwPaperCell[]){{.text = part->name}, {.text = count.text}, {.text = condition}, {.text = old}});
        free(condition);
        free(old);
    }
    dw_records_clear(&parts);
    return DW_OK;
}

DwStatus dw_service_add_work(DwDossier *d, DwMessage *message)
{
    DwStatus status = add_operations(d, message);
    if (status == DW_OK)
        status = add_lubricants(d, message);
    return status == DW_OK ? add_parts(d, message) : status;
}

static bool is_shown(const DwAttachment *attachment)
{
    return attachment->kind == DW_ATTACHMENT_PHOTO || attachment->kind == DW_ATTACHMENT_STYLUS;
}

static const char *caption_of(const DwAttachment *attachment)
{
    return attachment->caption ? attachment->caption : "";
}

// "Worn flat 12 µm ± 2", for each thing that was measured on the picture.
static void add_measured(const DwDossier *d, const DwRecords *measures, DwText *text)
{
    for (size_t i = 0; i < measures->count; i++) {
        const DwPhotoMeasure *measure = (const DwPhotoMeasure *)dw_records_at(measures, i);
        if (dw_photo_is_mark(measure->kind))
            continue;
        char *kind = dw_dossier_field(d, &measure->record, "kind");
        DwNumber value = dw_number_print(measure->value, dw_number_digits(measure->value), false);
        DwNumber doubt =
            dw_number_print(measure->uncertainty,
                            dw_text_doubt_decimals(measure->uncertainty, dw_number_digits(measure->value)), false);
        dw_text_add(text, "; %s %s%s%s%s%s", measure->name && *measure->name ? measure->name : kind, value.text,
                    isfinite(measure->uncertainty) ? " ± " : "", isfinite(measure->uncertainty) ? doubt.text : "",
                    dw_number_space(measure->unit), dw_number_unit(measure->unit));
        free(kind);
    }
}

static char *picture_caption(const DwDossier *d, const DwAttachment *attachment, const DwRecords *measures)
{
    char *phase = dw_dossier_field(d, &attachment->record, "phase"), *day = dw_dossier_day(attachment->at);
    const char *caption = caption_of(attachment);
    char *text = dw_text_format("%s%s%s%s%s", caption, *caption && *phase ? ", " : "", phase,
                                *caption || *phase ? ", " : "", day);
    DwText measured = {0};
    dw_text_add(&measured, "%s", text);
    add_measured(d, measures, &measured);
    free(text);
    free(phase);
    free(day);
    return dw_text_take(&measured);
}

// A file that is there and cannot be shown is a line on the paper, not an end to it.
static DwPicture *read_photo(const DwDossier *d, const DwAttachment *attachment, char **caption)
{
    enum { PIXELS_MOST = 900, CUT_MOST = 4096 }; // 80 mm at some 280 dots per inch; before it is cut
    DwPicture *picture = NULL;
    DwRecords marks = {.entity = &dw_photo_measure_entity};
    char *path = dw_attachment_path(d->book, attachment);
    dw_record_list(d->book, &dw_photo_measure_entity, "attachment_id", attachment->record.id, &marks, NULL);
    bool is_marked = dw_picture_is_marked(&marks);
    *caption = picture_caption(d, attachment, &marks);
    if (dw_picture_read(path, is_marked ? CUT_MOST : PIXELS_MOST, (int)attachment->turn, &picture, NULL) != DW_OK) {
        char *text = dw_text_format("%s (%s)", *caption, say(d, "photo.unreadable"));
        free(*caption);
        *caption = text;
        picture = NULL;
        dw_dossier_note_lost(d, attachment);
    } else if (is_marked)
        dw_picture_mark(picture, &marks, (int)attachment->turn, PIXELS_MOST);
    dw_records_clear(&marks);
    free(path);
    return picture;
}

// The picture that belongs beside the one at INDEX: the same caption as left; during
// the work the next one.
static size_t partner_of(const DwRecords *photos, size_t index, const bool *used)
{
    const DwAttachment *first = (const DwAttachment *)dw_records_at(photos, index);
    for (size_t i = index + 1; i < photos->count; i++) {
        const DwAttachment *other = (const DwAttachment *)dw_records_at(photos, i);
        if (used[i] || !is_shown(other))
            continue;
        bool pair =
            first->phase == DW_PHASE_AS_RECEIVED ? dw_attachment_answers(other, first) : other->phase == first->phase;
        if (pair)
            return i;
    }
    return photos->count;
}

static void add_pair(DwDossier *d, const DwRecords *photos, size_t first, size_t second)
{
    char *captions[2] = {NULL, dw_memory_text("")};
    DwPicture *left = read_photo(d, (const DwAttachment *)dw_records_at(photos, first), &captions[0]), *right = NULL;
    if (second < photos->count) {
        free(captions[1]);
        right = read_photo(d, (const DwAttachment *)dw_records_at(photos, second), &captions[1]);
    }
    dw_piece_pictures(d->flow, left, captions[0], right, captions[1]);
    free(captions[0]);
    free(captions[1]);
}

DwStatus dw_service_add_photos(DwDossier *d, DwMessage *message)
{
    DwRecords photos;
    DwStatus status = dw_attachment_of_job(d->book, d->job.record.id, &photos, message);
    if (status != DW_OK)
        return status;
    bool *used = dw_memory_new(photos.count + 1, sizeof *used), headed = false;
    for (size_t i = 0; i < photos.count; i++) {
        const DwAttachment *photo = (const DwAttachment *)dw_records_at(&photos, i);
        used[i] = is_shown(photo) && !dw_dossier_has_file(d, photo);
    }
    // Those with a partner come first: pairs stay pairs.
    for (int pass = 0; pass < 2; pass++)
        for (size_t i = 0; i < photos.count; i++) {
            if (used[i] || !is_shown((const DwAttachment *)dw_records_at(&photos, i)))
                continue;
            size_t second = partner_of(&photos, i, used);
            if (pass == 0 && second == photos.count)
                continue;
            if (!headed)
                dw_piece_heading(d->flow, say(d, "photos"));
            headed = true;
            used[i] = used[second] = true;
            add_pair(d, &photos, i, second);
        }
    free(used);
    dw_records_clear(&photos);
    return DW_OK;
}

// What a customer calls it: by the words, else by the catalogue, else as the sheet says it unless that is a key.
static const char *unmeasured_name(const DwDossier *d, const char *key)
{
    const char *name = dw_dossier_say(d, "unmeasured", key);
    const DwQuantity *quantity = dw_quantity_find(key);
    return *name ? name : quantity ? dw_standing_proof_name(d, key, quantity->label) : strpbrk(key, "._") ? "" : key;
}

// Whether a sheet of the job has a reading of KEY after all.
static bool was_measured(const DwDossier *d, const char *key)
{
    for (size_t i = 0; i < d->comparison.measurements.count; i++) {
        const DwSheet *sheet = d->comparison.sheets[i];
        const DwReading *reading = sheet ? dw_sheet_reading(sheet, key) : NULL;
        if (reading && (reading->word || isfinite(reading->value)))
            return true;
    }
    return false;
}

// The names of what SHEET did not measure, each once; what would have to be given is for the bench alone.
static char *list_unmeasured(const DwDossier *d, const DwSheet *sheet)
{
    DwText list = {0};
    for (size_t i = 0; i < sheet->not_measured_count; i++) {
        const char *key = sheet->not_measured[i].key, *name = unmeasured_name(d, key);
        if (*name && !was_measured(d, key) && !(list.length && strstr(list.chars, name)))
            dw_text_add(&list, "%s%s", list.length ? "; " : "", name);
    }
    return list.length ? dw_text_take(&list) : dw_memory_text("");
}

// What was not measured, of each kind of measurement once.
static void add_not_measured(DwDossier *d)
{
    DwText said = {0};
    for (size_t i = 0; i < d->comparison.measurements.count; i++) {
        const DwSheet *sheet = d->comparison.sheets[i];
        char *list = sheet ? list_unmeasured(d, sheet) : dw_memory_text("");
        char *line = *list ? dw_text_format("%s: %s\n", sheet->title, list) : dw_memory_text("");
        if (*line && !(said.length && strstr(said.chars, line))) {
            if (!said.length)
                dw_piece_heading(d->flow, say(d, "unmeasured"));
            dw_text_add(&said, "%s", line);
            line[strlen(line) - 1] = '\0';
            dw_piece_item(d->flow, line);
        }
        free(line);
        free(list);
    }
    dw_text_clear(&said);
}

void dw_service_add_limits(DwDossier *d)
{
    if (dw_sentence_stands(d, "service", "limits.text", NULL))
        dw_dossier_add_fixed(d, "service", "limits", NULL);
    add_not_measured(d);
}
