// SPDX-License-Identifier: MIT
// synth: a described deck plays a test record into a sound file, or stands before a camera.
#include "audio/writer.h"
#include "base/sheet_json.h"
#include "cli/command.h"
#include "cli/help.h"
#include "procedure/sight/view_write.h"
#include "synth/record_side_sheet.h"

#include <stdlib.h>

static DwStatus write_all(DwSynth *synth, DwWriter *writer, DwMessage *message)
{
    enum { BLOCK = 4096 };
    float samples[BLOCK * 2];
    for (size_t got; (got = dw_synth_read(synth, samples, BLOCK)) > 0;) {
        DwStatus status = dw_writer_push(writer, samples, got, message);
        if (status != DW_OK)
            return status;
    }
    return DW_OK;
}

// Takes ownership of SYNTH.
static DwStatus record(DwSynth *synth, const char *path, DwMessage *message)
{
    DwWriter *writer = NULL;
    DwStatus status = dw_writer_open(path, dw_synth_rate(synth), (unsigned)dw_synth_channels(synth), DW_ENCODING_24_BIT,
                                     &writer, message);
    if (status == DW_OK) {
        status = write_all(synth, writer, message);
        if (status == DW_OK)
            status = dw_writer_close(writer, message);
        else
            dw_writer_abandon(writer);
    }
    dw_synth_free(synth);
    return status;
}

DwStatus dw_synth_record(const DwInputs *inputs, const char *path, DwMessage *message)
{
    DwSynth *synth = NULL;
    DwStatus status = dw_synth_new(inputs, &synth, message);
    return status == DW_OK ? record(synth, path, message) : status;
}

// The recording, and on demand what is true of a planned side.
static DwStatus record_call(const DwCall *call, DwMessage *message)
{
    DwSynth *synth = NULL;
    DwStatus status = dw_synth_new(call->inputs, &synth, message);
    if (status != DW_OK)
        return status;
    char *truth = NULL;
    if (call->json) {
        DwSheet *sheet = dw_record_side_sheet(synth);
        truth = dw_sheet_json_write(sheet);
        dw_sheet_free(sheet);
    }
    const char *path = call->words[call->word_count - 1];
    status = dw_destination_check("The recording", path, message);
    if (status == DW_OK)
        status = record(synth, path, message);
    if (status == DW_OK && truth)
        printf("%s\n", truth);
    free(truth);
    return status;
}

// How many of the last words of CALL are photographs and films to make.
static size_t count_views(const DwCall *call)
{
    size_t views = 0;
    while (views < call->word_count && dw_view_path(call->words[call->word_count - 1 - views]))
        views++;
    return views;
}

// The pictures, and what is true of them.
static DwStatus view_call(const DwCall *call, size_t views, DwMessage *message)
{
    const char *const *paths = call->words + call->word_count - views;
    DwStatus status = DW_OK;
    for (size_t i = 0; status == DW_OK && i < views; i++)
        status = dw_destination_check("The picture", paths[i], message);
    DwSheet *sheet = NULL;
    if (status == DW_OK)
        status = dw_view_write(call->inputs, paths, views, &sheet, message);
    if (status != DW_OK)
        return status;
    if (call->json) {
        char *truth = dw_sheet_json_write(sheet);
        printf("%s\n", truth);
        free(truth);
    } else
        dw_print_sheet(sheet, stdout);
    dw_sheet_free(sheet);
    return DW_OK;
}

// What a call of synth cannot have, and its deck file.
static DwStatus check_call(DwCall *call, size_t views, DwMessage *message)
{
    size_t outputs = views ? views : 1;
    if (call->chart || call->out || call->job || call->as || call->book || call->by)
        return dw_fail(message, DW_BAD_INPUT, "synth writes recordings and pictures and nothing else; leave out %s.",
                       call->chart ? "--chart"
                       : call->out ? "--out"
                                   : "--job");
    if (call->word_count < outputs || call->word_count > outputs + 1)
        return dw_fail(message, DW_BAD_INPUT, "synth needs a deck file and the recording to write: deckwright %s.",
                       dw_command_synth.usage);
    if (call->word_count > outputs) {
        DwStatus status = dw_call_read_deck(call, call->words[0], message);
        if (status != DW_OK)
            return status;
    }
    const char *shown = views ? NULL : dw_view_given(call->inputs);
    if (shown)
        return dw_fail(message, DW_BAD_INPUT, "%s: a recording does not show it. Write a .mov or .jpg file with it.",
                       shown);
    if (call->json && !views && !dw_inputs_given(call->inputs, "record.plan"))
        return dw_fail(message, DW_BAD_INPUT,
                       "synth tells what is true of a planned side only; add record.plan=FILE or leave out --json.");
    return DW_OK;
}

static int run(int count, char **arguments)
{
    DwMessage message = {""};
    DwCall call;
    DwStatus status = dw_call_read(count, arguments, NULL, NULL, &call, &message);
    if (status != DW_OK)
        return dw_complain(status, &message);
    if (call.help) {
        dw_help_command(&dw_command_synth, stdout);
        dw_call_clear(&call);
        return DW_EXIT_MEASURED;
    }
    size_t views = count_views(&call);
    status = check_call(&call, views, &message);
    if (status == DW_OK)
        status = views ? view_call(&call, views, &message) : record_call(&call, &message);
    dw_call_clear(&call);
    return status == DW_OK ? DW_EXIT_MEASURED : dw_complain(status, &message);
}

const DwCommand dw_command_synth = {
    .name = "synth",
    .usage = "synth [DECKFILE] OUT.wav|OUT.mov|OUT.jpg… [key=value …]",
    .summary =
        "Make the recording, or the photographs or film, that a described deck would give (data/demo has examples).",
    .run = run,
    .section = "synth",
};
