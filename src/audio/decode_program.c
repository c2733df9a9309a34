// SPDX-License-Identifier: MIT
// The program in the box: reads one recording and answers with its samples.
//
// Usage: deckwright-decode recording|clocked|file PATH
#include "audio/decode.h"
#include "audio/decode_answer.h"
#include "audio/driver.h"
#include "audio/pipeline.h"
#include "base/box.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { CHANNELS_DELIVERED = 2 };
static const DwBoxLimits limits = {.memory_most = (size_t)2 << 30, .seconds_most = 900, .files_most = 128};

static bool answer(const DwDecodeAnswer *head, const char *words)
{
    DwDecodeAnswer whole = *head;
    whole.mark = DW_ANSWER_MARK;
    snprintf(whole.words, sizeof whole.words, "%s", words);
    return dw_box_write(&whole, sizeof whole);
}

static bool answer_not(DwStatus status, const DwMessage *why)
{
    return answer(&(DwDecodeAnswer){.kind = DW_ANSWER_NOT, .status = status}, why->text);
}

static bool answer_facts(DwSource *source)
{
    DwDecodeAnswer facts = {.kind = DW_ANSWER_FACTS,
                            .channels = dw_source_channels(source),
                            .length = dw_source_frames(source),
                            .rate_hz = dw_source_rate_hz(source)};
    return answer(&facts, dw_source_format(source)) &&
           answer(&(DwDecodeAnswer){.kind = DW_ANSWER_REMARK}, dw_source_remark(source));
}

// Hands on what comes, until it ends, breaks off, or nobody listens.
static void answer_all(DwSource *source)
{
    static float samples[DW_ANSWER_BLOCK_FRAMES * CHANNELS_DELIVERED];
    DwMessage message = {""};
    bool heard = answer_facts(source);
    while (heard) {
        size_t got;
        unsigned flags;
        DwStatus status = dw_source_read(source, samples, DW_ANSWER_BLOCK_FRAMES, &got, &flags, &message);
        if (status != DW_OK) {
            answer_not(status, &message);
            return;
        }
        if (!got) {
            answer(&(DwDecodeAnswer){.kind = DW_ANSWER_END}, dw_source_remark(source));
            return;
        }
        heard = answer(&(DwDecodeAnswer){.kind = DW_ANSWER_BLOCK, .frames = (uint32_t)got, .flags = flags}, "") &&
                dw_box_write(samples, got * dw_source_channels(source) * sizeof *samples);
    }
}

int main(int count, char **arguments)
{
    DwMessage message = {""};
    DwSource *source = NULL;
    if (count != 3)
        return EXIT_FAILURE;
    bool file = strcmp(arguments[1], DW_DECODE_FILE) == 0, clocked = strcmp(arguments[1], DW_DECODE_CLOCKED) == 0;
    dw_box_leave_network();
    DwStatus status = file ? DW_OK : dw_pipeline_start(&message);
    if (status == DW_OK)
        status = dw_box_shut(&limits, &message);
    if (status == DW_OK)
        status = file ? dw_file_inside(arguments[2], &source, &message)
                      : dw_decode_inside(arguments[2], clocked, &source, &message);
    if (status == DW_OK)
        answer_all(source);
    else
        answer_not(status, &message);
    // Nothing is tidied up: what a damaged file did to the memory is not walked through again.
    _exit(EXIT_SUCCESS);
}
