// SPDX-License-Identifier: MIT
// What the decoder in its box answers: facts, then blocks of samples, then the end. The program that reads takes
// nothing of it on trust.
#ifndef DW_AUDIO_DECODE_ANSWER_H
#define DW_AUDIO_DECODE_ANSWER_H

#include <stdint.h>

// Its arguments: what it is to read by, and the path.
#define DW_DECODE_RECORDING "recording" // GStreamer
#define DW_DECODE_CLOCKED "clocked"     // GStreamer, as fast as it was recorded
#define DW_DECODE_FILE "file"           // libsndfile
#define DW_DECODE_FILM "film"           // the pictures of a film, by GStreamer: DwFilmAnswer

enum { DW_ANSWER_MARK = 0x44574143, DW_ANSWER_BLOCK_FRAMES = 8192, DW_ANSWER_WORDS = 2000 };
enum { DW_ANSWER_REMARKS_MOST = 8, DW_ANSWER_PARTS_MOST = 8 };

typedef enum {
    DW_ANSWER_FACTS,  // of the recording; words: its format; `count` remarks follow
    DW_ANSWER_REMARK, // words: its text, its pattern and what stands at `count` places of that, each ending in 0
    DW_ANSWER_BLOCK,  // frames of samples follow, interleaved, as floats
    DW_ANSWER_END,    // no more is there
    DW_ANSWER_NOT,    // it cannot be read, or no further; status; words: why
} DwDecodeAnswerKind;

typedef struct {
    uint32_t mark, kind;
    int32_t status;
    uint32_t channels, frames, flags, count;
    int64_t length; // of the recording, in frames; -1: unknown
    double rate_hz;
    char words[DW_ANSWER_WORDS]; // ends in 0
} DwDecodeAnswer;

// Of a film: frames of brightness, then how it ended.
typedef enum {
    DW_FILM_FRAME, // width × height bytes follow
    DW_FILM_END,   // stopped; words: why
    DW_FILM_NOT,   // it is no film that can be read; status; words: why
} DwFilmAnswerKind;

typedef struct {
    uint32_t mark, kind;
    int32_t status, width, height, stopped;
    double time_s;
    char words[DW_ANSWER_WORDS]; // ends in 0
} DwFilmAnswer;

#endif
