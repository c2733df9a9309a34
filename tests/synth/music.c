// SPDX-License-Identifier: MIT
// Music that a described deck plays: what a plan of notes may say, and that what is heard is what it says.
#include "support/suite.h"
#include "synth/music.h"
#include "synth/recording.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static DwStatus parse(const char *text, DwMusicPlan *plan, DwMessage *message)
{
    return dw_music_plan_parse(text, strlen(text), "piece", plan, message);
}

// A file of TEXT; PATH is its template.
static void write_piece(const char *text, char path[40])
{
    strcpy(path, "/tmp/deckwright-piece-XXXXXX");
    int file = mkstemp(path);
    ck_assert_int_ge(file, 0);
    ck_assert_int_eq(write(file, text, strlen(text)), (ssize_t)strlen(text));
    close(file);
}

// What TEXT sounds like with OPERANDS beside.
static Recording play(const char *text, const char *operands)
{
    char path[40], all[400];
    write_piece(text, path);
    snprintf(all, sizeof all, "synth.music=%s %s", path, operands);
    Recording recording = recording_make(all);
    unlink(path);
    return recording;
}

START_TEST(pitches_are_of_equal_temperament)
{
    // Of 440 Hz, to the hundredth: any table of equal temperament.
    static const struct {
        const char *name;
        double hz;
    } known[] = {{"A4", 440},      {"C4", 261.626},  {"C0", 16.352},  {"B8", 7902.133},
                 {"F#3", 184.997}, {"Bb5", 932.328}, {"Cb4", 246.942}};
    double hz;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        const char *after = dw_music_pitch(known[i].name, 440, &hz);
        ck_assert_msg(after && !*after, "%s", known[i].name);
        ck_assert_double_eq_tol(hz, known[i].hz, 5e-4 + 1e-6 * known[i].hz);
    }
    ck_assert_ptr_nonnull(dw_music_pitch("E4", 432, &hz));
    ck_assert_double_eq_tol(hz, 323.634, 1e-3);
    static const char *const none[] = {"H4", "C", "C9", "C10", "c4", "", "4"};
    for (size_t i = 0; i < sizeof none / sizeof *none; i++)
        ck_assert_msg(!dw_music_pitch(none[i], 440, &hz), "%s", none[i]);
}
END_TEST

START_TEST(a_plan_says_who_plays_what_when)
{
    DwMusicPlan plan;
    DwMessage message = {""};
    ck_assert_msg(parse("[music]\nname=Two\ntempo=60\nreverberation=2 s\napplause=3 s\n"
                        "[instrument horn]\npartials=1 0.5\nvibrato=5Hz:20\ntremolo=4Hz:30\n[instrument "
                        "drum]\nnoise=100Hz:2 kHz\ndecay=100 ms\n"
                        "[part 1]\ninstrument=horn\nlevel=-6 dB\nplace=-1\nnotes=C4:1 -:2\n  E4+G4>A4:1.5\n"
                        "[part 2]\ninstrument=drum\nnotes=C2:0.5\n",
                        &plan, &message) == DW_OK,
                  "%s", message.text);
    ck_assert_str_eq(plan.name, "Two");
    ck_assert_uint_eq(plan.note_count, 4);
    ck_assert_double_eq(plan.notes[2].start_s, 3);
    ck_assert_double_eq(plan.notes[3].start_s, 3);
    ck_assert_double_eq(plan.notes[3].length_s, 1.5);
    const DwMusicNote *slide = plan.notes[2].to_hz != plan.notes[2].from_hz ? &plan.notes[2] : &plan.notes[3];
    ck_assert_double_eq_tol(1200 * log2(slide->to_hz / slide->from_hz), 200, 1e-9);
    ck_assert_double_eq_tol(20 * log10(slide->gain), -6, 1e-9);
    ck_assert_double_eq(slide->place, -1);
    ck_assert_double_eq_tol(plan.instruments[0].tremolo_depth, 0.3, 1e-12);
    ck_assert_double_eq(plan.instruments[1].noise_high_hz, 2000);
    ck_assert_double_eq(plan.notes_end_s, 4.5);
    ck_assert_double_eq(plan.end_s, 9.5);
    dw_music_plan_clear(&plan);
}
END_TEST

#define HORN "[instrument horn]\npartials=1\n"

START_TEST(what_is_no_plan_is_told_with_its_place)
{
    static const char *const bad[][2] = {
        {"", "has no notes"},
        {HORN, "has no notes"},
        {"[tune]\nname=x\n", "line 2 [tune]: a piece has the groups"},
        {"[music]\ntempo=0\n", "line 2 [music]: tempo: 0 is out of range"},
        {"[music]\ntemp=90\n", "'temp' is no key of it. Use: name, tempo"},
        {"[music]\ntuning=440 mm\n", "not a unit"},
        {"[instrument horn]\nattack=3 ms\n", "[instrument horn] makes no sound"},
        {"[instrument horn]\npartials=1 x\n", "partials are up to 16 numbers"},
        {"[instrument horn]\npartials=1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1 1\n", "partials are up to 16 numbers"},
        {"[instrument horn]\npartials=-1\n", "partials are up to 16 numbers"},
        {"[instrument horn]\nnoise=2 kHz:200 Hz\n", "from a lower to a higher"},
        {"[instrument horn]\nvibrato=5 Hz\n", "colon"},
        {HORN "[part 1]\nnotes=C4:1\n", "nobody plays it"},
        {HORN "[part 1]\ninstrument=harp\nnotes=C4:1\n", "no such instrument"},
        {HORN "[part 1]\ninstrument=horn\nplace=2\nnotes=C4:1\n", "place: 2 is out of range"},
        {HORN "[part 1]\ninstrument=horn\nnotes=C4:1 H4:1\n", "line 5 [part 1]: 'H4:1' is no note"},
        {HORN "[part 1]\ninstrument=horn\nnotes=C4\n", "'C4' is no note"},
        {HORN "[part 1]\ninstrument=horn\nnotes=C4:0\n", "'C4:0' is no note"},
        {HORN "[part 1]\ninstrument=horn\nnotes=C4:-1\n", "'C4:-1' is no note"},
        {HORN "[part 1]\ninstrument=horn\nnotes=C4+:1\n", "'C4+:1' is no note"},
        {HORN "[part 1]\ninstrument=horn\nnotes=C4:1x\n", "'C4:1x' is no note"},
        {HORN "[part 1]\ninstrument=horn\nnotes=-:4\n", "has no notes"},
        {HORN "[music]\ntempo=5\n[part 1]\ninstrument=horn\nnotes=C4:1000\n", "an hour at most"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        DwMusicPlan plan;
        DwMessage message = {""};
        ck_assert_msg(parse(bad[i][0], &plan, &message) == DW_BAD_INPUT, "%s is taken", bad[i][0]);
        ck_assert_msg(strstr(message.text, bad[i][1]), "%s: %s", bad[i][0], message.text);
    }
}
END_TEST

// One steady note of three partials for 4 s, and what stands behind it.
#define NOTE "[music]\ntempo=60\n[instrument horn]\npartials=1 0 0.5\nattack=0\n[part 1]\ninstrument=horn\nnotes=A5:4\n"

START_TEST(a_note_has_its_pitch_its_partials_and_the_speed_of_the_deck)
{
    static const double faster[] = {0, 3, -2};
    for (size_t i = 0; i < 3; i++) {
        char operands[80];
        snprintf(operands, sizeof operands, "synth.snr=120 synth.level=0 fault.speed_error=%g", faster[i]);
        Recording recording = play(NOTE, operands);
        double *left = recording_channel(&recording, 0), pitch_hz = 880 * (1 + faster[i] / 100);
        size_t count = (size_t)(3 * recording.rate_hz);
        double first = line_peak(left, count, recording.rate_hz, pitch_hz, NULL);
        ck_assert_double_eq_tol(line_peak(left, count, recording.rate_hz, 3 * pitch_hz, NULL) / first, 0.5, 1e-3);
        ck_assert_double_lt(line_peak(left, count, recording.rate_hz, 2 * pitch_hz, NULL) / first, 1e-4);
        ck_assert_double_lt(line_peak(left, count, recording.rate_hz, 1.01 * pitch_hz, NULL) / first, 1e-3);
        ck_assert(isnan(recording.truth->tone_hz));
        double loudest = 0;
        for (size_t n = 0; n < recording.frames; n++)
            loudest = fmax(loudest, fabs(left[n]));
        ck_assert_double_eq_tol(loudest, 1, 0.01);
        free(left);
        recording_clear(&recording);
    }
}
END_TEST

START_TEST(the_groove_is_the_same_for_every_deck)
{
    static const char piece[] =
        "[music]\ntempo=120\nreverberation=0.5 s\napplause=1 s\n[instrument bell]\npartials=1 0.4\n"
        "decay=1 s\n[instrument drum]\nnoise=300 Hz:5 kHz\ndecay=0.2 s\n"
        "[part 1]\ninstrument=bell\nnotes=C5:1 E5+G5:1\n[part 2]\ninstrument=drum\nnotes=C4:1 C4:1\n";
    Recording one = play(piece, "synth.snr=200 synth.seed=1"),
              two = play(piece, "synth.snr=200 synth.seed=2 synth.rate=96000");
    double worst = 0;
    for (size_t n = 0; n < one.frames && 2 * n < two.frames; n++)
        for (size_t side = 0; side < 2; side++)
            worst = fmax(worst, fabs(recording_at(&one, n, side) - recording_at(&two, 2 * n, side)));
    ck_assert_double_lt(worst, 1e-6);
    double claps = recording_power(&one, 0, 1.1, 1.9), end_s = (double)one.frames / one.rate_hz;
    ck_assert_double_eq_tol(end_s, 2.5, 1e-3);
    ck_assert_double_gt(claps, 100 * recording_power(&one, 0, 2.4, 2.5));
    recording_clear(&one);
    recording_clear(&two);
}
END_TEST

START_TEST(blocks_change_nothing)
{
    char path[40], operands[120];
    write_piece(NOTE, path);
    snprintf(operands, sizeof operands, "synth.music=%s synth.rate=32000 synth.length=1.5 fault.wow=0.2", path);
    Recording whole = recording_make(operands);
    recording_check_blocks(&whole, operands, 77);
    ck_assert_uint_eq(whole.frames, 48000);
    recording_clear(&whole);
    unlink(path);
}
END_TEST

START_TEST(what_cannot_be_played_is_refused)
{
    static const char *const bad[][2] = {
        {"synth.length=9", "The piece lasts 4.0 s and synth.length asks for 9.0 s"},
        {"synth.rate=22050", "music goes up to 14 kHz"},
        {"synth.side=left", "music is in both"},
        {"record.plan=some.plan", "Leave one of them out"},
        {"synth.music=nowhere", "nowhere: cannot open it"},
    };
    char path[40];
    write_piece(NOTE, path);
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        char operands[120];
        snprintf(operands, sizeof operands, "synth.music=%s %s", path, bad[i][0]);
        DwMessage message = {""};
        DwSynth *synth = NULL;
        DwInputs *inputs = inputs_of(strstr(bad[i][0], "music") ? bad[i][0] : operands, &message);
        ck_assert_msg(inputs != NULL, "%s", message.text);
        ck_assert_msg(dw_synth_new(inputs, &synth, &message) == DW_BAD_INPUT, "%s is taken", bad[i][0]);
        ck_assert_msg(strstr(message.text, bad[i][1]), "%s: %s", bad[i][0], message.text);
        dw_inputs_free(inputs);
    }
    unlink(path);
}
END_TEST

DW_SUITE("music", pitches_are_of_equal_temperament, a_plan_says_who_plays_what_when,
         what_is_no_plan_is_told_with_its_place, a_note_has_its_pitch_its_partials_and_the_speed_of_the_deck,
         the_groove_is_the_same_for_every_deck, blocks_change_nothing, what_cannot_be_played_is_refused)
