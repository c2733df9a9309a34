// SPDX-License-Identifier: MIT
// noise, response and lowsweep on files: references stated each way, pairs of
// recordings, one channel, and calls that are refused.
#include "audio/writer.h"
#include "procedure/registry/procedure.h"
#include "support/computation.h"
#include "support/signal.h"
#include "support/suite.h"

#include <stdio.h>
#include <unistd.h>

enum { RATE = 16000 };

// A file that goes away with the test; PATH has room for 64 characters.
static void write_file(char *path, const Signal *signal, unsigned channels)
{
    static unsigned number;
    snprintf(path, 64, "record-bands-%d-%u.wav", (int)getpid(), number++);
    DwWriter *writer = NULL;
    DwMessage message = {""};
    ck_assert(dw_writer_open(path, signal->rate_hz, channels, DW_ENCODING_FLOAT, &writer, &message) == DW_OK);
    float *frames = calloc(signal->frames * channels, sizeof *frames);
    for (size_t n = 0; n < signal->frames; n++)
        for (unsigned c = 0; c < channels; c++)
            frames[n * channels + c] = signal->samples[2 * n + c];
    ck_assert(dw_writer_push(writer, frames, signal->frames, &message) == DW_OK);
    ck_assert(dw_writer_close(writer, &message) == DW_OK);
    free(frames);
}

// A silent groove of SECONDS after as long a tone of 1 kHz, with HUM at 50 Hz (peak).
static Signal groove(double seconds, double tone, double hum)
{
    Signal signal = signal_new(RATE, 2 * seconds);
    signal_rumble(&signal, 0.02, 1 - exp(-2 * M_PI * 40 / RATE), 1, 0.7, 31);
    signal_hiss(&signal, 1e-4, 32);
    signal_tone(&signal, 0, seconds, 1000, tone, tone, 0.001);
    signal_tone(&signal, 0, 2 * seconds, 50, hum, hum, 0);
    return signal;
}

// The sheet of NAME on the FILES (NULL last) with OPERANDS (NULL last); NULL with the message.
static DwSheet *measure(const char *name, const char *const *files, const char *const *operands, DwMessage *message)
{
    DwInputs *inputs = dw_inputs_new();
    DwRequest request = {.inputs = inputs, .recordings = files};
    while (files[request.recording_count])
        request.recording_count++;
    for (; *operands; operands++)
        ck_assert_msg(dw_inputs_set_operand(inputs, *operands, message) == DW_OK, "%s", message->text);
    DwSheet *sheet = NULL;
    if (dw_procedure_run(dw_procedure_find(name), &request, &sheet, message) != DW_OK)
        sheet = NULL;
    dw_inputs_free(inputs);
    return sheet;
}
#define FILES(...) ((const char *const[]){__VA_ARGS__, NULL})
#define OPERANDS(...) ((const char *const[]){__VA_ARGS__, NULL})

static DwSheet *measured(const char *name, const char *const *files, const char *const *operands)
{
    DwMessage message = {""};
    DwSheet *sheet = measure(name, files, operands, &message);
    ck_assert_msg(sheet != NULL, "%s", message.text);
    check_sound(sheet);
    return sheet;
}

// One groove and tone, referred to each way: 0.1 peak at 5 cm/s lateral is −20 dB.
START_TEST(every_way_to_state_the_reference_gives_the_same)
{
    char path[64], tone_path[64], left_path[64];
    Signal signal = groove(20, 0.1, 0), tone = signal_new(RATE, 5), left = signal_new(RATE, 5);
    signal_tone(&tone, 0, 5, 1000, 0.1, 0.1, 0);
    signal_tone(&left, 0, 5, 1000, 0.1, 0.001, 0); // one channel at 3.54 cm/s is the same velocity of it
    write_file(path, &signal, 2);
    write_file(tone_path, &tone, 2);
    write_file(left_path, &left, 2);
    DwSheet *sheets[] = {
        measured("noise", FILES(path),
                 OPERANDS("record.start=20", "noise.reference=2:18", "noise.reference_velocity=5")),
        measured("noise", FILES(path, tone_path), OPERANDS("record.start=20", "noise.reference_velocity=5")),
        measured("noise", FILES(path, left_path), OPERANDS("record.start=20", "noise.reference_velocity=3.535534")),
        measured("noise", FILES(path),
                 OPERANDS("record.start=20", "noise.reference_level=-20", "noise.reference_velocity=5")),
    };
    double first = value(sheets[0], "noise.rumble_unweighted");
    for (size_t i = 0; i < 4; i++) {
        ck_assert_double_eq_tol(value(sheets[i], "noise.rumble_unweighted"), first, 0.02);
        ck_assert(remarks(sheets[i], "10 cm/s peak lateral at 1 kHz"));
        dw_sheet_free(sheets[i]);
    }
    // Without a velocity the tone's own level counts, 6.02 dB below 10 cm/s.
    DwSheet *sheet = measured("noise", FILES(path, tone_path), OPERANDS("record.start=20"));
    ck_assert_double_eq_tol(value(sheet, "noise.rumble_unweighted"), first - 6.02, 0.02);
    ck_assert(remarks(sheet, "velocity was not stated") || remarks(sheet, "noise.reference_velocity was not"));
    dw_sheet_free(sheet);
    unlink(path), unlink(tone_path), unlink(left_path);
    signal_free(&signal), signal_free(&tone), signal_free(&left);
}
END_TEST

START_TEST(without_a_reference_lines_and_spectra_are_still_shown)
{
    char path[64];
    Signal signal = groove(12, 0, 0.01);
    write_file(path, &signal, 2);
    DwSheet *sheet = measured("noise", FILES(path), OPERANDS("deck.mains=50Hz"));
    ck_assert(says_not_measured(sheet, "noise.rumble_unweighted") && says_not_measured(sheet, "noise.hum"));
    // 0.01 peak is −40 dB of full scale.
    ck_assert_double_eq_tol(dw_table_cell(dw_sheet_table(sheet, "noise.hum_lines"), 0, 1)->number, -40, 0.1);
    ck_assert_ptr_nonnull(dw_sheet_curve(sheet, "noise.spectrum_lateral"));
    dw_sheet_free(sheet);
    unlink(path);
    write_file(path, &signal, 1);
    sheet = measured("noise", FILES(path), OPERANDS("noise.reference_level=-12", "noise.reference_velocity=5"));
    ck_assert(says_not_measured(sheet, "noise.rumble_lateral") && says_not_measured(sheet, "noise.rumble_vertical"));
    ck_assert(isfinite(value(sheet, "noise.rumble_weighted")));
    dw_sheet_free(sheet);
    unlink(path);
    signal_free(&signal);
}
END_TEST

// The motor off takes 20 dB off the hum and leaves the rumble as it is.
START_TEST(a_pair_says_what_changed)
{
    char on[64], off[64];
    Signal first = groove(8, 0, 0.02), second = groove(8, 0, 0.002);
    write_file(on, &first, 2);
    write_file(off, &second, 2);
    DwSheet *sheet = measured("noise", FILES(on, off), OPERANDS("noise.compare=motor"));
    const DwTable *table = dw_sheet_table(sheet, "noise.pair");
    for (size_t i = 0; i < table->row_count; i++) {
        if (strcmp(dw_table_cell(table, i, 0)->word, "hum") == 0) {
            ck_assert_double_eq_tol(dw_table_cell(table, i, 3)->number, -20, 0.5);
            ck_assert_str_eq(dw_table_cell(table, i, 5)->word, "quieter");
        }
        if (strcmp(dw_table_cell(table, i, 0)->word, "hiss") == 0)
            ck_assert_str_eq(dw_table_cell(table, i, 5)->word, "no measurable change");
    }
    ck_assert(remarks(sheet, "Hum falls by 20 dB with the motor off"));
    dw_sheet_free(sheet);
    sheet = measured("noise", FILES(off, on), OPERANDS("noise.compare=earth"));
    ck_assert(remarks(sheet, "the lead is doing its work"));
    dw_sheet_free(sheet);
    DwMessage message = {""};
    ck_assert_ptr_null(measure("noise", FILES(on), OPERANDS("noise.compare=arm"), &message));
    ck_assert_ptr_nonnull(strstr(message.text, "two recordings"));
    ck_assert_ptr_null(measure("noise", FILES(on, off, on), OPERANDS("deck.mains=50"), &message));
    ck_assert_ptr_null(measure("noise", FILES(on, off), OPERANDS("record.start=1"), &message)); // no tone in the second
    ck_assert_ptr_nonnull(strstr(message.text, "no steady reference tone"));
    unlink(on), unlink(off);
    signal_free(&first), signal_free(&second);
}
END_TEST

static void add_chirp(Signal *signal, double from_hz, double to_hz, double seconds, double left, double right)
{
    double k = log(to_hz / from_hz) / seconds;
    for (size_t n = 0; n < signal->frames && (double)n < seconds * signal->rate_hz; n++) {
        double f = from_hz * exp(k * (double)n / signal->rate_hz), s = sin(2 * M_PI * (f - from_hz) / k);
        signal->samples[2 * n] += (float)(left * s);
        signal->samples[2 * n + 1] += (float)(right * s);
    }
}

START_TEST(a_left_and_a_right_file_make_one_response)
{
    char left_path[64], right_path[64];
    Signal left = signal_new(RATE, 16), right = signal_new(RATE, 16);
    add_chirp(&left, 20, 7000, 15, 0.1, 0.01);
    add_chirp(&right, 20, 7000, 15, -0.02, 0.1);
    write_file(left_path, &left, 2);
    write_file(right_path, &right, 2);
    DwSheet *sheet = measured("response", FILES(left_path, right_path), OPERANDS("response.smoothing=6"));
    const DwTable *table = dw_sheet_table(sheet, "response.thirds");
    for (size_t i = 1; i < table->row_count; i++) {
        ck_assert_double_eq_tol(dw_table_cell(table, i, 1)->number, 0, 0.1);
        ck_assert_double_eq_tol(dw_table_cell(table, i, 3)->number, -20, 0.2);
        ck_assert_double_eq_tol(dw_table_cell(table, i, 4)->number, -13.98, 0.2);
    }
    ck_assert(says_not_measured(sheet, "response.departure_left")); // 8 to 10 kHz are not in it
    ck_assert(remarks(sheet, "smoothed over 1/6 octave"));
    dw_sheet_free(sheet);
    unlink(left_path), unlink(right_path);
    signal_free(&left), signal_free(&right);
}
END_TEST

// Well above the resonance the output is flat: a bare chirp holds none.
// Nothing is left to tell: refused, with the reason.
START_TEST(a_lowsweep_without_a_resonance_is_refused)
{
    char path[64];
    Signal signal = signal_new(RATE, 22);
    add_chirp(&signal, 25, 5, 20, 0.1, 0.1);
    write_file(path, &signal, 2);
    DwMessage message = {""};
    ck_assert_ptr_null(measure("lowsweep", FILES(path), OPERANDS("response.riaa=none", "cartridge.mass=6g"), &message));
    ck_assert_ptr_nonnull(strstr(message.text, "does not lie within"));
    unlink(path);
    signal_free(&signal);
}
END_TEST

// Neither a sweep nor an arm's hump: refused, with what to record.
START_TEST(a_lowsweep_of_a_bare_tone_is_refused)
{
    char path[64];
    Signal signal = signal_new(RATE, 45);
    signal_tone(&signal, 0, 45, 1000, 0.1, 0.1, 0.001);
    signal_hiss(&signal, 1e-3, 3);
    write_file(path, &signal, 2);
    DwMessage message = {""};
    ck_assert_ptr_null(measure("lowsweep", FILES(path), OPERANDS("response.riaa=applied"), &message));
    ck_assert_ptr_nonnull(strstr(message.text, "No sweep"));
    unlink(path);
    signal_free(&signal);
}
END_TEST

DW_SUITE("record bands", every_way_to_state_the_reference_gives_the_same,
         without_a_reference_lines_and_spectra_are_still_shown, a_pair_says_what_changed,
         a_left_and_a_right_file_make_one_response, a_lowsweep_without_a_resonance_is_refused,
         a_lowsweep_of_a_bare_tone_is_refused)
