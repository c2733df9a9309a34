// SPDX-License-Identifier: MIT
// The program in the box: reads one recording and answers with its samples.
//
// Usage: deckwright-decode recording|clocked|file|film PATH
#include "audio/decode.h"
#include "audio/decode_answer.h"
#include "audio/driver.h"
#include "audio/film.h"
#include "audio/pipeline.h"
#include "base/box.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { CHANNELS_DELIVERED = 2 };
static const DwBoxLimits limits = {.memory_most = (size_t)2 << 30, .seconds_most = 900, .files_most = 128};
// Several frames of 4K at once in each of the decoder's threads.
static const DwBoxLimits film_limits = {.memory_most = (size_t)4 << 30, .seconds_most = 3600, .files_most = 128};

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

// Appends WORD and its 0 to WORDS, of which *USED letters are taken. Returned: whether there was room.
static bool add_word(char words[DW_ANSWER_WORDS], size_t *used, const char *word)
{
    size_t size = strlen(word) + 1;
    if (size > DW_ANSWER_WORDS - *used)
        return false;
    memcpy(words + *used, word, size);
    *used += size;
    return true;
}

// One that is too long goes without its parts, and then cut.
static bool answer_remark(const DwSaying *remark)
{
    DwDecodeAnswer whole = {.mark = DW_ANSWER_MARK, .kind = DW_ANSWER_REMARK, .count = (uint32_t)remark->part_count};
    size_t used = 0;
    bool fits = add_word(whole.words, &used, remark->text) && add_word(whole.words, &used, remark->pattern);
    for (size_t i = 0; fits && i < remark->part_count; i++)
        fits = add_word(whole.words, &used, remark->parts[i]);
    return fits ? dw_box_write(&whole, sizeof whole)
                : answer(&(DwDecodeAnswer){.kind = DW_ANSWER_REMARK}, remark->text);
}

// What SOURCE remarks on beyond the *TOLD sentences that went out already.
static bool answer_remarks(const DwSource *source, size_t *told)
{
    bool heard = true;
    for (const DwSaying *remark; heard && (remark = dw_source_remark(source, *told)); ++*told)
        heard = answer_remark(remark);
    return heard;
}

static uint32_t count_remarks(const DwSource *source)
{
    uint32_t count = 0;
    while (dw_source_remark(source, count))
        count++;
    return count;
}

static bool answer_facts(DwSource *source, size_t *told)
{
    DwDecodeAnswer facts = {.kind = DW_ANSWER_FACTS,
                            .channels = dw_source_channels(source),
                            .length = dw_source_frames(source),
                            .rate_hz = dw_source_rate_hz(source),
                            .count = count_remarks(source)};
    return answer(&facts, dw_source_format(source)) && answer_remarks(source, told);
}

// Hands on what comes, until it ends, breaks off, or nobody listens.
static void answer_all(DwSource *source)
{
    static float samples[DW_ANSWER_BLOCK_FRAMES * CHANNELS_DELIVERED];
    DwMessage message = {""};
    size_t told = 0;
    bool heard = answer_facts(source, &told);
    while (heard) {
        size_t got;
        unsigned flags;
        DwStatus status = dw_source_read(source, samples, DW_ANSWER_BLOCK_FRAMES, &got, &flags, &message);
        if (status != DW_OK) {
            answer_not(status, &message);
            return;
        }
        if (!got) {
            if (answer_remarks(source, &told))
                answer(&(DwDecodeAnswer){.kind = DW_ANSWER_END}, "");
            return;
        }
        heard = answer(&(DwDecodeAnswer){.kind = DW_ANSWER_BLOCK, .frames = (uint32_t)got, .flags = flags}, "") &&
                dw_box_write(samples, got * dw_source_channels(source) * sizeof *samples);
    }
}

// Hands on one frame without the gaps between its rows. Returned: whether somebody still listens.
static bool answer_frame(const DwFilmPicture *picture, void *user)
{
    (void)user;
    DwFilmAnswer head = {.mark = DW_ANSWER_MARK,
                         .kind = DW_FILM_FRAME,
                         .width = picture->width,
                         .height = picture->height,
                         .time_s = picture->time_s};
    bool heard = dw_box_write(&head, sizeof head);
    if (picture->stride == picture->width)
        return heard && dw_box_write(picture->pixels, (size_t)picture->width * (size_t)picture->height);
    for (int y = 0; heard && y < picture->height; y++)
        heard = dw_box_write(picture->pixels + (ptrdiff_t)y * picture->stride, (size_t)picture->width);
    return heard;
}

static void answer_film(const char *path)
{
    DwFilmEnd end = {0};
    DwMessage message = {""};
    DwStatus status = dw_film_inside(path, answer_frame, NULL, &end, &message);
    DwFilmAnswer last = {.mark = DW_ANSWER_MARK,
                         .kind = status == DW_OK ? DW_FILM_END : DW_FILM_NOT,
                         .status = status,
                         .stopped = end.stopped};
    snprintf(last.words, sizeof last.words, "%s", status == DW_OK ? end.why : message.text);
    dw_box_write(&last, sizeof last);
}

int main(int count, char **arguments)
{
    DwMessage message = {""};
    DwSource *source = NULL;
    if (count != 3)
        return EXIT_FAILURE;
    bool film = strcmp(arguments[1], DW_DECODE_FILM) == 0;
    bool file = strcmp(arguments[1], DW_DECODE_FILE) == 0, clocked = strcmp(arguments[1], DW_DECODE_CLOCKED) == 0;
    dw_box_leave_network();
    DwStatus status = file ? DW_OK : dw_pipeline_start(&message);
    if (status == DW_OK)
        status = dw_box_shut(film ? &film_limits : &limits, &message);
    if (film && status == DW_OK) {
        answer_film(arguments[2]);
        _exit(EXIT_SUCCESS);
    }
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
