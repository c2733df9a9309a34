// SPDX-License-Identifier: MIT
// Recordings of described decks as files in a folder of their own, for procedures that read files.
#ifndef DW_TESTS_PROCEDURE_PLAY_FILE_H
#define DW_TESTS_PROCEDURE_PLAY_FILE_H

#include "audio/writer.h"
#include "call.h"
#include "synth/synth.h"

#include <stdio.h>
#include <unistd.h>

// A name in the system's temporary folder that no other test has. The caller frees it.
static inline char *play_name(const char *word)
{
    const char *folder = getenv("TMPDIR");
    char *name = NULL;
    ck_assert_int_gt(asprintf(&name, "%s/deckwright-%ld-%s.wav", folder ? folder : "/tmp", (long)getpid(), word), 0);
    return name;
}

static inline void play_write(const char *path, double rate_hz, const float *samples, size_t count)
{
    DwMessage message = {""};
    DwWriter *writer = NULL;
    ck_assert_msg(dw_writer_open(path, rate_hz, 1, DW_ENCODING_FLOAT, &writer, &message) == DW_OK, "%s", message.text);
    ck_assert_msg(dw_writer_push(writer, samples, count, &message) == DW_OK, "%s", message.text);
    ck_assert_msg(dw_writer_close(writer, &message) == DW_OK, "%s", message.text);
}

// The samples of one channel that the OPERANDS, parted by single spaces, describe. The
// caller frees them.
static inline float *play_samples(const char *operands, size_t *count)
{
    DwInputs *inputs = call_inputs(operands);
    DwMessage message = {""};
    DwSynth *synth = NULL;
    ck_assert_msg(dw_synth_new(inputs, &synth, &message) == DW_OK, "%s", message.text);
    dw_inputs_free(inputs);
    ck_assert_int_eq(dw_synth_channels(synth), 1);
    float *samples = calloc(dw_synth_frames(synth), sizeof *samples);
    *count = dw_synth_read(synth, samples, dw_synth_frames(synth));
    dw_synth_free(synth);
    return samples;
}

#endif
