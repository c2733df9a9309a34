// SPDX-License-Identifier: MIT
// Measurements of the invented shop: its decks are played by the synthesiser and
// measured by the same procedures as real ones.
#include "base/memory.h"
#include "base/text.h"
#include "book/store/attachment.h"
#include "book/job/job.h"
#include "book/job/measurement.h"
#include "book/shop/logo.h"
#include "chart/draw/sketch.h"
#include "chart/draw/whole_file.h"
#include "cli/book_call.h"
#include "cli/demo_shop.h"
#include "procedure/job/job_sheet.h"
#include "procedure/registry/data_table.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

// Takes KEY where INPUTS may have it: for a procedure only what it takes.
static DwStatus take(DwInputs *inputs, const DwProcedure *procedure, const char *key, const char *value,
                     DwMessage *message)
{
    bool wanted = procedure ? dw_procedure_takes(procedure, key) : dw_quantity_find(key) != NULL;
    return wanted ? dw_inputs_set(inputs, key, value, message) : DW_OK;
}

// The deck that is played: the file that the group names.
static DwStatus read_deck_file(const DwDemoShop *shop, DwInputs *inputs, DwMessage *message)
{
    const char *deck = dw_demo_shop_value(shop, "deck_file");
    DwKeyfile file = {0};
    if (!deck)
        return DW_OK;
    char *path = dw_text_format("%s/demo/%s", dw_data_folder(), deck);
    DwStatus status = dw_keyfile_read(path, &file, message);
    free(path);
    dw_inputs_begin_source(inputs);
    for (size_t i = 0; i < file.count && status == DW_OK; i++) {
        char *key = dw_text_format("%s.%s", file.lines[i].group, file.lines[i].key);
        status = take(inputs, NULL, key, file.lines[i].value, message);
        free(key);
    }
    dw_keyfile_clear(&file);
    return status;
}

// The group's own lines.
static DwStatus read_lines(const DwDemoShop *shop, const DwProcedure *procedure, DwInputs *inputs, DwMessage *message)
{
    DwStatus status = DW_OK;
    dw_inputs_begin_source(inputs);
    for (size_t i = shop->from; i < shop->to && status == DW_OK; i++)
        if (strchr(shop->file->lines[i].key, '.'))
            status = take(inputs, procedure, shop->file->lines[i].key, shop->file->lines[i].value, message);
    return status;
}

// What the book knows of the group's job, as at the bench.
static DwStatus read_book(const DwDemoShop *shop, const DwProcedure *procedure, DwInputs *inputs, DwMessage *message)
{
    DwJob job;
    int64_t id = 0;
    DwPhase phase = DW_PHASE_NONE;
    DwInputs *typed = dw_inputs_new();
    dw_record_init(&job.record, &dw_job_entity);
    DwStatus status = read_lines(shop, procedure, typed, message);
    if (status == DW_OK)
        status = dw_demo_shop_reference(shop, "job", &id, message);
    if (status == DW_OK)
        status = dw_job_sheet_phase(dw_demo_shop_value(shop, "as"), &phase, message);
    if (status == DW_OK)
        status = dw_record_load(shop->book, &job.record, id, message);
    if (status == DW_OK)
        status = dw_job_sheet_prefill_beside(shop->book, &job, phase, procedure, typed, inputs, message);
    dw_inputs_free(typed);
    dw_record_clear(&job.record);
    return status;
}

// For playing (PROCEDURE is NULL) the deck file, for measuring what the book knows; then the group's own lines.
static DwStatus read_inputs(const DwDemoShop *shop, const DwProcedure *procedure, DwInputs *inputs, DwMessage *message)
{
    DwStatus status = procedure ? read_book(shop, procedure, inputs, message) : read_deck_file(shop, inputs, message);
    return status == DW_OK ? read_lines(shop, procedure, inputs, message) : status;
}

// Plays the group's deck into PATH when the procedure listens to a recording.
static DwStatus make_recording(const DwDemoShop *shop, const char *path, DwMessage *message)
{
    DwInputs *inputs = dw_inputs_new();
    DwStatus status = read_inputs(shop, NULL, inputs, message);
    if (status == DW_OK)
        status = dw_synth_record(inputs, path, message);
    dw_inputs_free(inputs);
    return status;
}

static DwStatus run(const DwDemoShop *shop, const DwProcedure *procedure, DwSheet **sheet, DwMessage *message)
{
    bool listens = procedure->recordings_least > 0;
    char *path = dw_text_format("%s/%s.wav", shop->folder, shop->label);
    const char *const recordings[] = {path};
    DwInputs *inputs = dw_inputs_new();
    DwStatus status = listens ? make_recording(shop, path, message) : DW_OK;
    if (status == DW_OK)
        status = read_inputs(shop, procedure, inputs, message);
    DwRequest request = {inputs, recordings, listens ? 1 : 0};
    if (status == DW_OK)
        status = dw_procedure_run(procedure, &request, sheet, message);
    if (listens)
        unlink(path);
    free(path);
    dw_inputs_free(inputs);
    return status;
}

// Keeps SHEET (which it frees) on the group's job with its record, chain and instrument.
static DwStatus keep(const DwDemoShop *shop, DwSheet *sheet, DwMessage *message)
{
    DwJob job;
    DwMeasurement measurement;
    int64_t id = 0;
    DwPhase phase = DW_PHASE_NONE;
    const char *record = dw_demo_shop_value(shop, "test_record"), *chain = dw_demo_shop_value(shop, "chain");
    const char *instrument = dw_demo_shop_value(shop, "instrument");
    dw_record_init(&job.record, &dw_job_entity);
    dw_record_init(&measurement.record, &dw_measurement_entity);
    DwStatus status = dw_demo_shop_reference(shop, "job", &id, message);
    if (status == DW_OK)
        status = dw_job_sheet_phase(dw_demo_shop_value(shop, "as"), &phase, message);
    if (status == DW_OK)
        status = dw_record_load(shop->book, &job.record, id, message);
    if (status == DW_OK)
        status = dw_job_sheet_bound(shop->book, &job, sheet, message);
    measurement.job_id = id;
    measurement.phase = (int)phase;
    measurement.test_record = dw_memory_text(record ? record : "");
    measurement.chain = dw_memory_text(chain ? chain : "");
    measurement.instrument = dw_memory_text(instrument ? instrument : "");
    if (status == DW_OK)
        status = dw_measurement_save(shop->book, sheet, &measurement, message);
    dw_sheet_free(sheet);
    dw_record_clear(&job.record);
    dw_record_clear(&measurement.record);
    return status;
}

DwStatus dw_demo_shop_measure(DwDemoShop *shop, DwMessage *message)
{
    const char *name = dw_demo_shop_value(shop, "procedure");
    const DwProcedure *procedure = name ? dw_procedure_find(name) : NULL;
    DwSheet *sheet = NULL;
    if (!procedure)
        return dw_fail(message, DW_BAD_INPUT, "\"%s\" is no procedure.", name ? name : "");
    DwStatus status = run(shop, procedure, &sheet, message);
    return status == DW_OK ? keep(shop, sheet, message) : status;
}

DwStatus dw_demo_shop_hand(DwDemoShop *shop, DwMessage *message)
{
    const char *key = dw_demo_shop_value(shop, "key"), *value = dw_demo_shop_value(shop, "value");
    const char *doubt = dw_demo_shop_value(shop, "uncertainty");
    DwSheet *sheet = NULL;
    double uncertainty = NAN;
    if (doubt && !dw_text_number(doubt, &uncertainty))
        return dw_fail(message, DW_BAD_INPUT, "%s is no uncertainty.", doubt);
    if (!key || !value)
        return dw_fail(message, DW_BAD_INPUT, "A reading by hand has a key and a value.");
    DwStatus status =
        dw_measurement_by_hand(key, dw_demo_shop_value(shop, "name"), value, uncertainty, &sheet, message);
    return status == DW_OK ? keep(shop, sheet, message) : status;
}

// The drawing called NAME, or -1.
static int find_sketch(const char *name)
{
    const char *word = DW_SKETCH_WORDS;
    size_t length = strlen(name);
    for (int kind = 0; *word; kind++) {
        size_t end = strcspn(word, "|");
        if (end == length && strncmp(word, name, length) == 0)
            return kind;
        word += end + (word[end] == '|');
    }
    return -1;
}

// The shop's logo is taken into the book from a file, as a shop's own would be.
static DwStatus keep_logo(const DwDemoShop *shop, const char *bytes, size_t length, DwMessage *message)
{
    char *path = dw_text_format("%s/logo.png", shop->folder);
    DwStatus status = dw_whole_file_write(path, bytes, length, message);
    if (status == DW_OK)
        status = dw_logo_set(shop->book, path, "Logo of the shop", message);
    unlink(path);
    free(path);
    return status;
}

static DwStatus attach(const DwDemoShop *shop, int sketch, const char *bytes, size_t length, DwMessage *message)
{
    DwAttachment attachment;
    DwPhase phase = DW_PHASE_NONE;
    const char *caption = dw_demo_shop_value(shop, "caption");
    dw_record_init(&attachment.record, &dw_attachment_entity);
    DwStatus status = dw_demo_shop_reference(shop, "job", &attachment.job_id, message);
    if (status == DW_OK)
        status = dw_job_sheet_phase(dw_demo_shop_value(shop, "as"), &phase, message);
    attachment.phase = (int)phase;
    attachment.kind = sketch == DW_SKETCH_SIGNATURE ? DW_ATTACHMENT_SIGNATURE
                      : sketch == DW_SKETCH_STYLUS  ? DW_ATTACHMENT_STYLUS
                                                    : DW_ATTACHMENT_PHOTO;
    attachment.personal = sketch == DW_SKETCH_SIGNATURE;
    attachment.caption = dw_memory_text(caption ? caption : "");
    if (status == DW_OK)
        status = dw_attachment_add_bytes(shop->book, &attachment, "drawn.png", bytes, length, message);
    dw_record_clear(&attachment.record);
    return status;
}

DwStatus dw_demo_shop_picture(DwDemoShop *shop, DwMessage *message)
{
    const char *name = dw_demo_shop_value(shop, "drawing"), *seed = dw_demo_shop_value(shop, "seed");
    int sketch = name ? find_sketch(name) : -1;
    char *bytes = NULL;
    size_t length = 0;
    if (sketch < 0)
        return dw_fail(message, DW_BAD_INPUT, "\"%s\" is none of the drawings: " DW_SKETCH_WORDS ".", name ? name : "");
    DwStatus status = dw_sketch_draw((DwSketchKind)sketch, dw_demo_shop_value(shop, "worn") != NULL,
                                     seed ? (unsigned)strtoul(seed, NULL, 10) : 1, &bytes, &length, message);
    if (status == DW_OK)
        status = sketch == DW_SKETCH_LOGO ? keep_logo(shop, bytes, length, message)
                                          : attach(shop, sketch, bytes, length, message);
    free(bytes);
    return status;
}
