// SPDX-License-Identifier: MIT
#include "synth/music_notes.h"

#include "base/memory.h"
#include "base/text.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

enum { TOGETHER_MOST = 12 };
static const double longest_beats = 1000;

// Where one note of a chord begins and ends.
typedef struct {
    double from_hz, to_hz;
} Pitch;

const char *dw_music_pitch(const char *text, double tuning_hz, double *frequency_hz)
{
    static const int steps_of[] = {9, 11, 0, 2, 4, 5, 7}; // A to G over C
    if (!(*text >= 'A' && *text <= 'G'))
        return NULL;
    int step = steps_of[*text++ - 'A'];
    if (*text == '#' || *text == 'b')
        step += *text++ == '#' ? 1 : -1;
    if (!(*text >= '0' && *text <= '8') || (text[1] >= '0' && text[1] <= '9'))
        return NULL;
    step += 12 * (*text++ - '0') - (12 * 4 + 9);
    *frequency_hz = tuning_hz * exp2(step / 12.0);
    return text;
}

// Where the word at TEXT ends.
static size_t word_length(const char *text)
{
    return strcspn(text, " \t\r\n");
}

static DwStatus no_note(const char *word, DwMessage *message)
{
    size_t length = word_length(word);
    return dw_fail(message, DW_BAD_INPUT,
                   "'%.*s' is no note. Write pitch:beats as in C4:2, E4+G4:1.5 together, A4>C5:4 for a slide, -:1 for "
                   "a rest.",
                   dw_text_whole(word, length < 40 ? (int)length : 40), word);
}

// Reads "C4" or "C4>E4".
static const char *read_pitch(const char *text, double tuning_hz, Pitch *pitch)
{
    *pitch = (Pitch){0};
    const char *after = dw_music_pitch(text, tuning_hz, &pitch->from_hz);
    pitch->to_hz = pitch->from_hz;
    if (after && *after == '>')
        after = dw_music_pitch(after + 1, tuning_hz, &pitch->to_hz);
    return after;
}

// Reads what sounds together, up to the colon; none for a rest.
static const char *read_chord(const char *text, double tuning_hz, Pitch *pitches, size_t *count)
{
    *count = 0;
    if (*text == '-')
        return text + 1;
    for (const char *at = text; at && *count < TOGETHER_MOST; at++) {
        at = read_pitch(at, tuning_hz, &pitches[(*count)++]);
        if (!at || *at != '+')
            return at;
    }
    return NULL;
}

static DwStatus add_note(DwMusicPlan *plan, const DwMusicNote *note, DwMessage *message)
{
    if (plan->note_count == DW_MUSIC_NOTES_MOST)
        return dw_fail(message, DW_BAD_INPUT, "a piece has at most %d notes.", DW_MUSIC_NOTES_MOST);
    if ((plan->note_count & (plan->note_count - 1)) == 0) // a power of two: full
        plan->notes = dw_memory_resize(plan->notes, plan->note_count ? 2 * plan->note_count : 1, sizeof *plan->notes);
    plan->notes[plan->note_count++] = *note;
    return DW_OK;
}

DwStatus dw_music_notes_add(const char *text, DwMusicPart *part, DwMusicPlan *plan, DwMessage *message)
{
    double beat_s = 60 / plan->tempo;
    for (text += strspn(text, " \t"); *text; text += strspn(text, " \t")) {
        Pitch pitches[TOGETHER_MOST];
        size_t count = 0;
        double beats = 0;
        const char *after = read_chord(text, plan->tuning_hz, pitches, &count);
        after = after && *after == ':' ? dw_text_number_in_list(after + 1, &beats) : NULL;
        if (!after || word_length(after) > 0 || !(beats > 0 && beats <= longest_beats))
            return no_note(text, message);
        for (size_t i = 0; i < count; i++) {
            DwMusicNote note = {.start_s = part->beats * beat_s,
                                .length_s = beats * beat_s,
                                .from_hz = pitches[i].from_hz,
                                .to_hz = pitches[i].to_hz,
                                .gain = part->gain,
                                .place = part->place,
                                .instrument = part->instrument};
            DwStatus status = add_note(plan, &note, message);
            if (status != DW_OK)
                return status;
        }
        part->beats += beats;
        text = after;
    }
    return DW_OK;
}
