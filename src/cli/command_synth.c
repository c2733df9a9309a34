// SPDX-License-Identifier: MIT
// synth: a described deck plays a test record into a sound file.
#include "audio/writer.h"
#include "cli/command.h"
#include "synth/synth.h"

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

DwStatus dw_synth_record(const DwInputs *inputs, const char *path, DwMessage *message)
{
    DwSynth *synth = NULL;
    DwWriter *writer = NULL;
    DwStatus status = dw_synth_new(inputs, &synth, message);
    if (status != DW_OK)
        return status;
    status = dw_writer_open(path, dw_synth_rate(synth), (unsigned)dw_synth_channels(synth), DW_ENCODING_24_BIT, &writer,
                            message);
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

static int run(int count, char **arguments)
{
    DwMessage message = {""};
    DwCall call;
    DwStatus status = dw_call_read(count, arguments, NULL, &call, &message);
    if (status != DW_OK)
        return dw_complain(status, &message);
    if (call.help) {
        printf("deckwright %s\n\n%s\n", dw_command_synth.usage, dw_command_synth.summary);
        dw_call_clear(&call);
        return DW_EXIT_MEASURED;
    }
    if (call.json || call.chart || call.out || call.job || call.as || call.book || call.by)
        status = dw_fail(&message, DW_BAD_INPUT, "synth writes a recording and nothing else; leave out %s.",
                         call.json    ? "--json"
                         : call.chart ? "--chart"
                         : call.out   ? "--out"
                                      : "--job");
    else if (call.word_count < 1 || call.word_count > 2)
        status = dw_fail(&message, DW_BAD_INPUT, "synth needs a deck file and the recording to write: deckwright %s.",
                         dw_command_synth.usage);
    else if (call.word_count == 2)
        status = dw_call_read_deck(&call, call.words[0], &message);
    if (status == DW_OK)
        status = dw_synth_record(call.inputs, call.words[call.word_count - 1], &message);
    dw_call_clear(&call);
    return status == DW_OK ? DW_EXIT_MEASURED : dw_complain(status, &message);
}

const DwCommand dw_command_synth = {
    .name = "synth",
    .usage = "synth [DECKFILE] OUT.wav [key=value …]",
    .summary = "Make the recording that a described deck would give (data/demo has examples).",
    .run = run,
};
