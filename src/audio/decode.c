// SPDX-License-Identifier: MIT
// A recording read by the decoder in its box, as a source.
#include "audio/decode.h"

#include "audio/decode_answer.h"
#include "audio/driver.h"
#include "audio/header.h"
#include "base/box.h"
#include "base/memory.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// What a recording may claim; the rates are those that any converter has, and some.
enum { CHANNELS_MOST = 2, RATE_MOST_HZ = 1000000 };

typedef struct {
    DwStrongBox *box;
    bool clocked;
    unsigned channels;
    float block[DW_ANSWER_BLOCK_FRAMES * CHANNELS_MOST];
    size_t frames, offset; // of the block, and handed on
    unsigned flags;        // of the block, until its first frame is handed on
    bool ended;
} Boxed;

// The next answer; false when none that makes sense came.
static bool read_answer(Boxed *boxed, DwDecodeAnswer *answer)
{
    if (!dw_box_read(boxed->box, answer, sizeof *answer) || answer->mark != DW_ANSWER_MARK)
        return false;
    answer->words[sizeof answer->words - 1] = '\0';
    for (size_t i = 0; i < sizeof answer->words; i++)
        if (answer->words[i] && (unsigned char)answer->words[i] < ' ')
            answer->words[i] = ' ';
    return true;
}

// The remark that ANSWER holds: its text alone where pattern and parts do not make sense.
static DwSaying remark_of(const DwDecodeAnswer *answer)
{
    const char *words[1 + DW_ANSWER_PARTS_MOST] = {0}, *at = answer->words, *past = at + sizeof answer->words;
    size_t wanted = answer->count <= DW_ANSWER_PARTS_MOST ? 1 + answer->count : 0, found = 0;
    for (at += strlen(at) + 1; at < past && found < wanted; at += strlen(at) + 1)
        words[found++] = at;
    bool whole = wanted && found == wanted && *words[0];
    return dw_saying_of(answer->words, whole ? words[0] : NULL, words + 1, answer->count);
}

// Adds what the decoder remarks on to SOURCE; false when that is too much for one recording.
static bool take_remark(DwSource *source, const DwDecodeAnswer *answer)
{
    if (dw_source_remark(source, DW_ANSWER_REMARKS_MOST - 1))
        return false;
    dw_source_take_remark(source, remark_of(answer));
    return true;
}

static void close_boxed(void *opaque)
{
    Boxed *boxed = opaque;
    dw_box_close(boxed->box);
    free(boxed);
}

// No more will come. A recording that breaks off is read as far as it goes, one that is played as if live has stopped.
static DwStatus break_off(DwSource *source, Boxed *boxed, const char *why, DwMessage *message)
{
    boxed->ended = true;
    if (boxed->clocked)
        return dw_fail(message, DW_FAILED, "Playing the recording stopped (%s).", why);
    dw_source_add_remark(source, "Reading stopped after %.1f seconds (%s).",
                         (double)dw_source_position(source) / dw_source_rate_hz(source), why);
    return DW_OK;
}

// Takes the next block; at the end none. It goes straight to PLACE where that has ROOM for it, which *STRAIGHT tells.
static DwStatus take_block(DwSource *source, Boxed *boxed, float *place, size_t room, bool *straight,
                           DwMessage *message)
{
    DwDecodeAnswer answer;
    boxed->frames = boxed->offset = 0;
    *straight = false;
    do {
        if (!read_answer(boxed, &answer))
            return break_off(source, boxed, dw_box_trouble(boxed->box), message);
    } while (answer.kind == DW_ANSWER_REMARK && take_remark(source, &answer));
    if (answer.kind == DW_ANSWER_NOT) {
        boxed->ended = true;
        return dw_fail(message, answer.status == DW_BAD_INPUT ? DW_BAD_INPUT : DW_FAILED, "%s", answer.words);
    }
    if (answer.kind == DW_ANSWER_END) {
        boxed->ended = true;
        return DW_OK;
    }
    *straight = answer.frames <= room;
    if (answer.kind != DW_ANSWER_BLOCK || answer.frames == 0 || answer.frames > DW_ANSWER_BLOCK_FRAMES ||
        !dw_box_read(boxed->box, *straight ? place : boxed->block,
                     answer.frames * boxed->channels * sizeof *boxed->block))
        return break_off(source, boxed, dw_box_trouble(boxed->box), message);
    boxed->frames = answer.frames;
    boxed->flags = answer.flags & DW_SOURCE_GAP;
    return DW_OK;
}

// Keeps for the next read what came STRAIGHT to PLACE.
static DwStatus set_aside(Boxed *boxed, const float *place, bool straight)
{
    if (straight)
        memcpy(boxed->block, place, boxed->frames * boxed->channels * sizeof *place);
    return DW_OK;
}

static DwStatus read_boxed(DwSource *source, float *interleaved, size_t frames, size_t *got, unsigned *flags,
                           DwMessage *message)
{
    Boxed *boxed = dw_source_state(source);
    *got = 0;
    *flags = 0;
    while (*got < frames) {
        bool straight = false;
        if (boxed->offset == boxed->frames) {
            // What is played as if live is handed on as it comes.
            if (boxed->ended || (boxed->clocked && *got))
                return DW_OK;
            DwStatus status =
                take_block(source, boxed, interleaved + *got * boxed->channels, frames - *got, &straight, message);
            if (status != DW_OK || !boxed->frames)
                return status;
        }
        if (boxed->flags && *got) // the gap begins the next read
            return set_aside(boxed, interleaved + *got * boxed->channels, straight);
        *flags |= boxed->flags;
        boxed->flags = 0;
        size_t there = boxed->frames - boxed->offset, count = there < frames - *got ? there : frames - *got;
        if (!straight)
            memcpy(interleaved + *got * boxed->channels, boxed->block + boxed->offset * boxed->channels,
                   count * boxed->channels * sizeof *interleaved);
        boxed->offset += count;
        *got += count;
    }
    return DW_OK;
}

static const DwDriver boxed_driver = {read_boxed, close_boxed};

static bool makes_sense(const DwDecodeAnswer *answer)
{
    return answer->kind == DW_ANSWER_FACTS && answer->channels >= 1 && answer->channels <= CHANNELS_MOST &&
           answer->rate_hz >= 1 && answer->rate_hz <= RATE_MOST_HZ && answer->length >= -1 &&
           answer->count <= DW_ANSWER_REMARKS_MOST;
}

static DwStatus open_boxed(const char *path, const char *how, DwSource **source, DwMessage *message)
{
    const char *const arguments[] = {"deckwright-decode", how, path, NULL};
    Boxed *boxed = dw_memory_new(1, sizeof *boxed);
    boxed->clocked = strcmp(how, DW_DECODE_CLOCKED) == 0;
    DwDecodeAnswer answer;
    DwStatus status = dw_box_open(arguments[0], arguments, &boxed->box, message);
    if (status == DW_OK && !read_answer(boxed, &answer))
        status = dw_fail(message, DW_BAD_INPUT, "%s", dw_box_trouble(boxed->box));
    else if (status == DW_OK && answer.kind == DW_ANSWER_NOT)
        status = dw_fail(message, answer.status == DW_BAD_INPUT ? DW_BAD_INPUT : DW_FAILED, "%s", answer.words);
    else if (status == DW_OK && !makes_sense(&answer))
        status = dw_fail(message, DW_BAD_INPUT, "the decoder tells nonsense of it");
    if (status != DW_OK) {
        close_boxed(boxed);
        return status;
    }
    boxed->channels = answer.channels;
    // Whether it ended early the decoder itself remarks upon.
    DwSourceFacts facts = {
        .rate_hz = answer.rate_hz, .channels = answer.channels, .frames = answer.length, .tolerance = INT64_MAX / 2};
    snprintf(facts.format, sizeof facts.format, "%.*s", (int)sizeof facts.format - 1, answer.words);
    *source = dw_source_new(&boxed_driver, boxed, &facts);
    for (uint32_t i = 0, remarks = answer.count; i < remarks; i++)
        if (!read_answer(boxed, &answer) || answer.kind != DW_ANSWER_REMARK || !take_remark(*source, &answer)) {
            status = dw_fail(message, DW_BAD_INPUT, "%s", dw_box_trouble(boxed->box));
            dw_source_close(*source);
            return status;
        }
    return DW_OK;
}

DwStatus dw_decode_open(const char *path, bool clocked, DwSource **source, DwMessage *message)
{
    return open_boxed(path, clocked ? DW_DECODE_CLOCKED : DW_DECODE_RECORDING, source, message);
}

DwStatus dw_file_open(const char *path, DwSource **source, DwMessage *message)
{
    // The library reads MP3 only as far as it guesses the length: that is left to the other reader, without a box.
    if (dw_header_is_mpeg(path))
        return dw_fail(message, DW_BAD_INPUT, "it is MPEG audio");
    return open_boxed(path, DW_DECODE_FILE, source, message);
}
