// SPDX-License-Identifier: MIT
#include "procedure/music/ears.h"

#include "audio/writer.h"
#include "base/memory.h"
#include "base/text.h"
#include "dsp/loudness.h"
#include "procedure/music/twin_taken.h"
#include "procedure/registry/procedures.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { LOOPS = 4, BLOCK = 4096 };

static const double passage_s = 8, before_s = 3;         // of the worst turn
static const double wanted_lufs = -18, headroom_db = -1; // the first common practice for music heard at home
static const double fade_s = 0.03;
static const double silent_lufs = -70; // by BS.1770's own gate

// A piece of a recording, in memory: some seconds.
typedef struct {
    float *samples; // interleaved
    size_t frames;
    unsigned channels;
    double rate_hz;
} Piece;

const char *dw_ears_file(DwEarsPiece piece)
{
    static const char *const files[DW_EARS_PIECES] = {
        [DW_EARS_WORST] = "worst-turn.wav",
        [DW_EARS_BEST] = "best-turn.wav",
        [DW_EARS_FIRST] = "as-received.wav",
        [DW_EARS_SECOND] = "as-left.wav",
    };
    return files[piece];
}

// Reads LENGTH_S seconds of the recording at PATH from BEGIN_S on; less at its end.
static DwStatus read_piece(const char *path, double begin_s, double length_s, Piece *piece, DwMessage *message)
{
    DwSource *source = NULL;
    float block[BLOCK * 2];
    *piece = (Piece){0};
    DwStatus status = dw_source_open(path, &source, message);
    if (status != DW_OK)
        return status;
    piece->rate_hz = dw_source_rate_hz(source);
    piece->channels = dw_source_channels(source);
    size_t skip = (size_t)fmax(0, begin_s * piece->rate_hz), most = (size_t)(length_s * piece->rate_hz), got = 1,
           at = 0;
    piece->samples = dw_memory_new(most * piece->channels + 1, sizeof *piece->samples);
    while (piece->frames < most && got > 0 && status == DW_OK) {
        status = dw_source_read(source, block, BLOCK, &got, NULL, message);
        size_t first = at >= skip ? 0 : skip - at < got ? skip - at : got, count = got - first;
        if (status != DW_OK)
            break;
        if (count > most - piece->frames)
            count = most - piece->frames;
        memcpy(piece->samples + piece->frames * piece->channels, block + first * piece->channels,
               count * piece->channels * sizeof *block);
        piece->frames += count;
        at += got;
    }
    dw_source_close(source);
    return status;
}

// One turn becomes LOOPS of it, each faded into the next.
static void loop(Piece *turn)
{
    size_t fade = (size_t)(fade_s * turn->rate_hz);
    if (turn->frames < 4 * fade)
        return;
    size_t each = turn->frames - fade, frames = LOOPS * each, channels = turn->channels;
    float *all = dw_memory_new(frames * channels, sizeof *all);
    for (size_t n = 0; n < frames; n++)
        for (size_t c = 0; c < channels; c++) {
            size_t at = n % each;
            float here = turn->samples[at * channels + c];
            if (at < fade && n >= each) { // what followed the turn goes over into its beginning
                float share = (float)at / (float)fade;
                here = share * here + (1 - share) * turn->samples[(each + at) * channels + c];
            }
            all[n * channels + c] = here;
        }
    free(turn->samples);
    turn->samples = all;
    turn->frames = frames;
}

static void fade_ends(Piece *piece)
{
    size_t fade = (size_t)(fade_s * piece->rate_hz);
    for (size_t n = 0; n < fade && n < piece->frames / 2; n++)
        for (size_t c = 0; c < piece->channels; c++) {
            float share = (float)n / (float)fade;
            piece->samples[n * piece->channels + c] *= share;
            piece->samples[(piece->frames - 1 - n) * piece->channels + c] *= share;
        }
}

static DwStatus write_piece(const Piece *piece, double gain, const char *folder, DwEarsPiece which, DwMessage *message)
{
    DwWriter *writer = NULL;
    char *path = dw_text_format("%s/%s", folder, dw_ears_file(which));
    for (size_t i = 0; i < piece->frames * piece->channels; i++)
        piece->samples[i] *= (float)gain;
    DwStatus status = dw_writer_open(path, piece->rate_hz, piece->channels, DW_ENCODING_16_BIT, &writer, message);
    if (status == DW_OK)
        status = dw_writer_push(writer, piece->samples, piece->frames, message);
    if (status == DW_OK)
        status = dw_writer_close(writer, message);
    else
        dw_writer_abandon(writer);
    free(path);
    return status;
}

// Brings all to one loudness, as loud as the peaks of all allow, and writes them.
static DwStatus level_and_write(Piece pieces[DW_EARS_PIECES], const char *folder, DwEars *ears, DwMessage *message)
{
    ears->lufs = wanted_lufs;
    for (int i = 0; i < DW_EARS_PIECES; i++) {
        DwLoudness loudness;
        bool known =
            dw_loudness_of(pieces[i].samples, pieces[i].frames, pieces[i].channels, pieces[i].rate_hz, &loudness);
        if (!known || !(loudness.lufs > silent_lufs))
            return dw_fail(
                message, DW_BAD_INPUT,
                "The passage about the worst turn is too quiet to be made equally loud. Give another stretch "
                "(record.start, record.end).");
        ears->was_lufs[i] = loudness.lufs;
        ears->lufs = fmin(ears->lufs, loudness.lufs + headroom_db - loudness.peak_db);
    }
    DwStatus status = DW_OK;
    for (int i = 0; i < DW_EARS_PIECES && status == DW_OK; i++)
        status =
            write_piece(&pieces[i], pow(10, (ears->lufs - ears->was_lufs[i]) / 20), folder, (DwEarsPiece)i, message);
    return status;
}

static DwStatus find_turns(const DwRequest *request, DwEars *ears, DwMessage *message)
{
    DwTwinTaken taken;
    DwSheet *sheet = dw_sheet_new("twin", "");
    DwStatus status = dw_twin_taken_read(request, &taken, message);
    if (status == DW_OK)
        status = dw_twin_read(taken.twin, sheet, message); // which refuses what is not one groove
    if (status == DW_OK && !dw_twin_turns(taken.twin, &ears->turns))
        status = dw_fail(message, DW_BAD_INPUT,
                         "No whole turn of the two could be compared without a break. Record both again.");
    dw_twin_taken_clear(&taken);
    dw_sheet_free(sheet);
    return status;
}

// What the held notes of the recording at PATH tell; nothing where none are held, or the turn may be another one.
static DwEarsWow find_wow(const DwRequest *request, const char *path)
{
    DwEarsWow wow = {.percent = NAN};
    DwMessage why;
    DwSheet *sheet = dw_sheet_new("held", "");
    if (dw_procedure_held.run(&(DwRequest){request->inputs, &path, 1}, sheet, &why) == DW_OK) {
        const DwReading *once = dw_sheet_reading(sheet, "revolution.amplitude"),
                        *most = dw_sheet_reading(sheet, "held.limit");
        const DwReading *told = once ? once : most;
        if (told && !(told->flags & DW_FLAG_APPROXIMATE))
            wow = (DwEarsWow){told->value, once && isfinite(once->uncertainty) ? once->uncertainty : 0, once != NULL};
    }
    dw_sheet_free(sheet);
    return wow;
}

int dw_ears_worse(const DwEars *ears)
{
    for (int i = 0; i < 2; i++) {
        const DwEarsWow *one = &ears->wow[i], *other = &ears->wow[1 - i];
        if (one->found && one->percent - one->off > other->percent + other->off) // false for NAN
            return i;
    }
    return -1;
}

static bool is_same_file(const char *a, const char *b)
{
    struct stat one, two;
    return stat(a, &one) == 0 && stat(b, &two) == 0 && one.st_dev == two.st_dev && one.st_ino == two.st_ino;
}

DwStatus dw_ears_make(const DwRequest *request, const char *folder, DwEars *ears, DwMessage *message)
{
    Piece pieces[DW_EARS_PIECES] = {0};
    *ears = (DwEars){.length_s = passage_s};
    if (is_same_file(request->recordings[0], request->recordings[1]))
        return dw_fail(message, DW_BAD_INPUT,
                       "The two recordings are one and the same: give one as received and one as left.");
    DwStatus status = find_turns(request, ears, message);
    double back_s = fmin(before_s, fmin(ears->turns.worst_s, ears->turns.worst_other_s)), turn_s = ears->turns.turn_s;
    ears->passage_s[0] = ears->turns.worst_s - back_s;
    ears->passage_s[1] = ears->turns.worst_other_s - back_s;
    const struct {
        size_t recording;
        double from_s, length_s;
    } wanted[DW_EARS_PIECES] = {
        [DW_EARS_WORST] = {0, ears->turns.worst_s, turn_s + fade_s},
        [DW_EARS_BEST] = {0, ears->turns.best_s, turn_s + fade_s},
        [DW_EARS_FIRST] = {0, ears->passage_s[0], passage_s},
        [DW_EARS_SECOND] = {1, ears->passage_s[1], passage_s},
    };
    for (int i = 0; i < DW_EARS_PIECES && status == DW_OK; i++) {
        status = read_piece(request->recordings[wanted[i].recording], wanted[i].from_s, wanted[i].length_s, &pieces[i],
                            message);
        if (status == DW_OK && i <= DW_EARS_BEST)
            loop(&pieces[i]);
        if (status == DW_OK)
            fade_ends(&pieces[i]);
    }
    if (status == DW_OK)
        status = level_and_write(pieces, folder, ears, message);
    for (int i = 0; i < 2 && status == DW_OK; i++)
        ears->wow[i] = find_wow(request, request->recordings[i]);
    for (int i = 0; i < DW_EARS_PIECES; i++)
        free(pieces[i].samples);
    return status;
}
