// SPDX-License-Identifier: MIT
// channels, azimuth, tracking and intermod as they are called: on files, with
// bands named, one file a band, or found.
#include "support/band_file.h"
#include "support/computation.h"
#include "support/suite.h"
#include "support/two_tone.h"

#include <stdio.h>
#include <unistd.h>

enum { FILES_MOST = 5 };

static char folder[] = P_tmpdir "/deckwright-bands-XXXXXX";
static char paths[FILES_MOST][64];
static size_t path_count;

static const char *write_part(const BandSignal *signal, double from_s, double to_s)
{
    DwMessage message = {""};
    char *path = paths[path_count];
    snprintf(path, sizeof paths[0], "%s/%zu.wav", folder, path_count);
    path_count++;
    ck_assert_msg(band_write(signal, 48000, from_s, to_s, path, &message) == DW_OK, "%s", message.text);
    return path;
}

static void begin(void)
{
    strcpy(folder, P_tmpdir "/deckwright-bands-XXXXXX");
    ck_assert_ptr_nonnull(mkdtemp(folder));
    path_count = 0;
}

static void end(BandSignal *signal)
{
    for (size_t i = 0; i < path_count; i++)
        unlink(paths[i]);
    rmdir(folder);
    band_clear(signal);
}

// Runs the procedure called NAME on the first COUNT files and OPERANDS, parted by spaces.
static DwStatus run(const char *name, size_t count, const char *operands, DwSheet **sheet, DwMessage *message)
{
    DwInputs *inputs = dw_inputs_new();
    const char *files[FILES_MOST];
    char *words = strdup(operands), *rest = words;
    for (size_t i = 0; i < count; i++)
        files[i] = paths[i];
    for (char *word; (word = strsep(&rest, " "));)
        if (*word)
            ck_assert_msg(dw_inputs_set_operand(inputs, word, message) == DW_OK, "%s", message->text);
    free(words);
    DwRequest request = {.inputs = inputs, .recordings = files, .recording_count = count};
    DwStatus status = dw_procedure_run(dw_procedure_find(name), &request, sheet, message);
    dw_inputs_free(inputs);
    return status;
}

static DwSheet *run_well(const char *name, size_t count, const char *operands)
{
    DwSheet *sheet = NULL;
    DwMessage message = {""};
    ck_assert_msg(run(name, count, operands, &sheet, &message) == DW_OK, "%s %s: %s", name, operands, message.text);
    check_sound(sheet);
    return sheet;
}

static void run_refused(const char *name, size_t count, const char *operands, const char *part)
{
    DwSheet *sheet = NULL;
    DwMessage message = {""};
    ck_assert_int_eq(run(name, count, operands, &sheet, &message), DW_BAD_INPUT);
    ck_assert_msg(strstr(message.text, part) && !strchr(message.text, '\n'), "%s", message.text);
}

// A record whose bands begin at 1, 5 and 9 s, 3 s each.
static void write_record(BandSignal *signal)
{
    BandDeck deck = band_deck_real(48000);
    deck.rotation_deg = 1;
    deck.leak[0] = deck.leak[1] = 0.008;
    deck.gain[1] = 0.9;
    band_play_record(signal, &deck, 0.25, 3);
}

static void check_channels(DwSheet *sheet)
{
    ck_assert_str_eq(dw_sheet_reading(sheet, "channels.fault")->word, "none");
    ck_assert_double_eq_tol(value(sheet, "channels.balance"), 20 * log10(0.9), 0.02);
    dw_sheet_free(sheet);
}

START_TEST(channels_in_one_file_or_several)
{
    BandSignal signal = {0};
    begin();
    write_record(&signal);
    write_part(&signal, 0.5, 4.5);
    write_part(&signal, 4.5, 8.5);
    write_part(&signal, 8.5, 13);
    check_channels(run_well("channels", 3, ""));
    // The second file first: the right channel's band where the left one should be.
    char moved[sizeof paths[0]];
    memcpy(moved, paths[0], sizeof moved);
    memcpy(paths[0], paths[1], sizeof moved);
    memcpy(paths[1], moved, sizeof moved);
    DwSheet *sheet = run_well("channels", 3, "");
    ck_assert_str_eq(dw_sheet_reading(sheet, "channels.fault")->word, "swapped");
    dw_sheet_free(sheet);
    check_channels(run_well("channels", 3, "channels.order=right_first"));
    run_refused("channels", 2, "channels.left=1s:4s", "one recording");
    end(&signal);
}
END_TEST

START_TEST(channels_by_name)
{
    BandSignal signal = {0};
    begin();
    write_record(&signal);
    write_part(&signal, 0, 100);
    check_channels(run_well("channels", 1, ""));
    check_channels(run_well("channels", 1, "channels.left=1s:4s channels.right=5s:8s channels.both=9s:12s"));
    // The bands' seconds count from the file's beginning, whatever record.start is.
    check_channels(run_well("channels", 1,
                            "record.start=0.7s record.end=12.5s record.tone=1000Hz channels.left=1:4 "
                            "channels.right=5:8 channels.both=9:12"));
    DwSheet *sheet = run_well("channels", 1, "channels.left=1:4 channels.both=9:12 channels.right=4.1:4.9");
    ck_assert(says_not_measured(sheet, "channels.separation_right"));
    dw_sheet_free(sheet);
    run_refused("channels", 1, "channels.left=4s:1s", "not after");
    run_refused("channels", 1, "record.end=0.9s", "No steady tone");
    end(&signal);
}
END_TEST

START_TEST(azimuth_and_its_operands)
{
    BandSignal signal = {0};
    begin();
    write_record(&signal);
    write_part(&signal, 0, 100);
    DwSheet *sheet = run_well("azimuth", 1, "azimuth.width=18mm");
    ck_assert_double_eq_tol(value(sheet, "azimuth.rotation"), 1, 0.05);
    ck_assert_double_eq_tol(value(sheet, "azimuth.shim"), 0.314, 0.02);
    dw_sheet_free(sheet);
    sheet = run_well("azimuth", 1, "azimuth.limit=0.5deg channels.left=1:4 channels.right=5:8 channels.both=9:12");
    ck_assert(remarks(sheet, "by 0.50°"));
    ck_assert(says_not_measured(sheet, "azimuth.shim"));
    dw_sheet_free(sheet);
    run_refused("azimuth", 1, "azimuth.tilt=0deg azimuth.tilt=1deg", "once for each");
    write_part(&signal, 0, 100);
    sheet = run_well("azimuth", 2, "azimuth.tilt=0deg azimuth.tilt=1deg");
    ck_assert(says_not_measured(sheet, "azimuth.best_tilt")); // both files are the same: no tilt changed anything
    dw_sheet_free(sheet);
    end(&signal);
}
END_TEST

START_TEST(tracking_and_its_operands)
{
    BandSignal signal = {0};
    begin();
    BandDeck deck = band_deck_real(48000);
    deck.tone_hz = 315;
    deck.limit[1] = 0.25;
    for (int step = 0; step < 3; step++) { // 12, 16, 20 dB from 1 s, 5 s, 9 s on
        band_gap(&signal, &deck, 1);
        double level = 0.05 * pow(10, (12 + 4 * step) / 20.0);
        band_play(&signal, &deck, level, level, 3);
    }
    write_part(&signal, 0, 100);
    static const char *const ways[] = {"tracking.step=12:1s tracking.step=16:5s tracking.step=20:9s",
                                       "tracking.level=12 tracking.level=20 tracking.level=16"};
    for (size_t i = 0; i < 2; i++) {
        char operands[200];
        snprintf(operands, sizeof operands, "tracking.unit=dB record.tone=315Hz %s", ways[i]);
        DwSheet *sheet = run_well("tracking", 1, operands);
        ck_assert_double_eq(value(sheet, "tracking.passed_left"), 20);
        ck_assert_double_eq(value(sheet, "tracking.passed_right"), 16);
        ck_assert_str_eq(dw_sheet_reading(sheet, "tracking.passed_right")->unit, "dB");
        ck_assert_double_eq_tol(dw_sheet_reading(sheet, "tracking.passed_right")->uncertainty, 0.196, 1e-3);
        ck_assert(remarks(sheet, "raise the anti-skating"));
        dw_sheet_free(sheet);
    }
    run_refused("tracking", 1, "tracking.step=12:1s tracking.level=12", "not both");
    run_refused("tracking", 1, "tracking.radius=60mm tracking.radius=140mm", "once for each recording");
    run_refused("tracking", 1, "record.start=12.5s", "ends at");
    end(&signal);
}
END_TEST

START_TEST(intermod_on_a_file)
{
    BandSignal signal = {0};
    begin();
    BandDeck deck = band_deck_real(48000);
    TwoTone tone = {.low_hz = 400, .vertical = 1, .level = {0.02, 0.01}};
    two_tone_play(&signal, &deck, &tone, 3);
    write_part(&signal, 0, 100);
    DwSheet *sheet = run_well("intermod", 1, "");
    ck_assert_double_eq_tol(value(sheet, "intermod.left"), 2, 0.1);
    ck_assert_double_eq_tol(value(sheet, "intermod.right"), 1, 0.05);
    ck_assert_str_eq(sheet->subject, "0.wav");
    ck_assert_int_eq(dw_sheet_reading(sheet, "intermod.left")->verdict, DW_VERDICT_ATTENTION); // above 1 %
    dw_sheet_free(sheet);
    end(&signal);
}
END_TEST

DW_SUITE("procedure bands", channels_in_one_file_or_several, channels_by_name, azimuth_and_its_operands,
         tracking_and_its_operands, intermod_on_a_file)
