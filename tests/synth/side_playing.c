// SPDX-License-Identifier: MIT
// How a planned side is played: in time, along the groove, and with what is lost
// of it.
#include "synth/planned.h"
#include "support/suite.h"

#include "base/memory.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define QUIET "synth.snr=200 "
#define THREE_TONES                                                                                                    \
    RECORD "[band 1]\nkind=tone\nchannel=lateral\nfrequency=1000\nlevel=0 dB\nlength=3\nradius=140 mm\n"               \
           "[band 2]\nkind=tone\nchannel=left\nfrequency=3150\nlevel=0 dB\nlength=4\ngap=4\n"                          \
           "[band 3]\nkind=steps\nchannel=lateral\nfrequency=315\nlevel=40 60 80 100 um\nlength=4\nradius=70 mm\n"

static const char everything[] = "fault.speed_error=0.4 fault.wow=0.1 fault.eccentricity=0.2mm fault.flutter_noise=0.1 "
                                 "fault.rumble=-30 fault.hum=-40 fault.ticks=60 fault.dropouts=20 fault.warp=1:0.5mm "
                                 "fault.skip=5s:0.7s fault.azimuth=1 synth.announcements=2 synth.lead_silence=0.5 "
                                 "synth.lead_crackle=0.5 cartridge.vertical_angle=24 synth.stop=14 synth.rate=44100";

START_TEST(block_size_changes_no_sample)
{
    char path[40], operands[1000];
    plan_write(THREE_TONES, path);
    snprintf(operands, sizeof operands, "record.plan=%s %s", path, everything);
    Recording whole = recording_make(operands);
    recording_check_blocks(&whole, operands, 1);
    recording_check_blocks(&whole, operands, 1000);
    unlink(path);
    recording_clear(&whole);
}
END_TEST

// The moment at which the channel first exceeds HALF its loudest within a second
// before and after a stated start.
static double heard_at(const Recording *recording, double about_s, double limit)
{
    for (size_t i = (size_t)((about_s - 0.3) * recording->rate_hz); i < recording->frames; i++)
        if (fabs(recording_at(recording, i, 0)) > limit)
            return (double)i / recording->rate_hz;
    return NAN;
}

START_TEST(bands_begin_when_a_fast_deck_gets_to_them)
{
    Recording recording = planned_make(THREE_TONES, QUIET "fault.speed_error=2.5 synth.lead_silence=1.5");
    const DwRecordSideBand *bands = planned_truth(&recording)->bands;
    // lead-in 1 s, then 3 s, 0.5 s, 4 s, 4 s and 4 s of groove, all 2.5 % faster.
    static const double starts_s[] = {1, 4.5, 12.5}, ends_s[] = {4, 8.5, 16.5};
    for (int i = 0; i < 3; i++) {
        ck_assert_double_eq_tol(bands[i].start_s, 1.5 + starts_s[i] / 1.025, 1e-6);
        ck_assert_double_eq_tol(bands[i].end_s, 1.5 + ends_s[i] / 1.025, 1e-6);
        // A rise of 5 ms is a quarter up after 1.7 ms.
        double peak = planned_peak(&recording, 0, bands[i].start_s + 0.1, bands[i].start_s + 0.5,
                                   i == 0   ? 1025
                                   : i == 1 ? 3228.75
                                            : 322.875);
        ck_assert_double_eq_tol(heard_at(&recording, bands[i].start_s, peak / 4), bands[i].start_s + 2e-3, 1.5e-3);
    }
    ck_assert_double_eq_tol((double)recording.frames / 48000, 1.5 + 17 / 1.025, 1e-4);
    // Velocity grows with the speed: 2.5 % are 0.2145 dB; 1025 Hz of replay −0.0802 dB by its time constants.
    double level = 20 * log10(planned_peak(&recording, 0, bands[0].start_s + 0.1, bands[0].end_s - 0.1, 1025));
    ck_assert_double_eq_tol(level, -24 + 0.2145 - 0.0802, 2e-3);
    recording_clear(&recording);
}
END_TEST

START_TEST(a_side_can_begin_late_end_early_and_skip)
{
    // Two seconds late; after 4 s of the recording the stylus jumps 1.8 s ahead; lifted at 14 s of the groove.
    Recording recording = planned_make(THREE_TONES, QUIET "synth.skip=2 fault.skip=4s:1.8s synth.stop=14");
    const DwRecordSideBand *bands = planned_truth(&recording)->bands;
    ck_assert_double_eq_tol(bands[0].start_s, 0, 1e-9);
    ck_assert_double_eq_tol(bands[0].end_s, 2, 1e-6);
    ck_assert_double_eq_tol(bands[1].start_s, 2.5, 1e-6);
    ck_assert_double_eq_tol(bands[1].end_s, 4 + (8.5 - 7.8), 1e-6);
    ck_assert_double_eq_tol(bands[2].start_s, 12.5 - 3.8, 1e-6);
    ck_assert_double_eq_tol((double)recording.frames / 48000, 14 - 3.8, 1e-4);
    ck_assert_double_lt(planned_peak(&recording, 0, 5, 8.5, 3150), 1e-6);
    ck_assert_double_gt(planned_peak(&recording, 0, 4.1, 4.6, 3150), 0.01);
    recording_clear(&recording);
    // What is jumped over is not played, and the truth says so.
    recording = planned_make(THREE_TONES, QUIET "fault.skip=4.2s:6s");
    ck_assert(isnan(planned_truth(&recording)->bands[1].start_s));
    recording_clear(&recording);
}
END_TEST

START_TEST(announcements_fill_gaps_that_have_the_room)
{
    Recording recording = planned_make(THREE_TONES, QUIET "synth.announcements=2.5");
    const DwRecordSideBand *bands = planned_truth(&recording)->bands;
    double spoken = recording_power(&recording, 0, bands[1].end_s + 0.75, bands[2].start_s - 0.75);
    double before = recording_power(&recording, 0, bands[1].end_s + 0.05, bands[1].end_s + 0.7);
    ck_assert_double_gt(spoken, 1e-6);
    ck_assert_double_lt(before, 1e-14);
    ck_assert_double_lt(recording_power(&recording, 0, bands[0].end_s + 0.05, bands[1].start_s - 0.05), 1e-14);
    recording_clear(&recording);
}
END_TEST

// ---- the stylus lost ------------------------------------------------------

// Harmonics 2 to 5 over the first, of a sine whose swing is held at LIMIT of its
// peak on one side: a naive sum over one period.
static double clipped_share(double limit)
{
    enum { POINTS = 20000 };
    double first = 0, rest = 0;
    for (int k = 1; k <= 5; k++) {
        double real = 0, imaginary = 0;
        for (int i = 0; i < POINTS; i++) {
            double angle = 2 * M_PI * i / POINTS;
            double velocity = -cos(angle) > limit ? 0 : sin(angle);
            real += velocity * cos(k * angle);
            imaginary += velocity * sin(k * angle);
        }
        double power = real * real + imaginary * imaginary;
        if (k == 1)
            first = power;
        else
            rest += power;
    }
    return sqrt(rest / first);
}

static double measured_share(const Recording *recording, size_t channel, double from_s, double to_s)
{
    double rest = 0;
    for (int k = 2; k <= 5; k++)
        rest += pow(planned_peak(recording, channel, from_s, to_s, 315.0 * k), 2);
    return sqrt(rest) / planned_peak(recording, channel, from_s, to_s, 315);
}

// A spring of 10 µm/mN under 0.75 g (7.355 mN) holds a lateral swing of 73.55 µm
// without skating. With it and without anti-skating, at 70 mm: μ tan φ more on the
// left wall, less on the right.
START_TEST(the_stylus_holds_the_groove_as_far_as_its_force_goes)
{
    double sine = (239.3 * 239.3 + 70.0 * 70 - 222.0 * 222) / (2 * 239.3 * 70);
    double pull = 0.3 * tan(asin(sine)), plain = 0.75 * 9.80665 * 10;
    static const char operands[] =
        QUIET "response.riaa=none cartridge.compliance=10 cartridge.compliance_frequency=100Hz force.target=0.75g "
              "arm.pivot_to_spindle=222mm arm.effective_length=239.3mm fault.antiskating=0 record.radius=70mm";
    static const char plan[] = RECORD "[band 1]\nkind=steps\nchannel=lateral\nfrequency=315\nlevel=40 60 80 100 um\n"
                                      "length=4\n";
    Recording recording = planned_make(plan, operands);
    const DwRecordSideBand *steps = &planned_truth(&recording)->bands[0];
    double held[2] = {plain * (1 + pull), plain * (1 - pull)}; // 84.0 and 63.1 µm
    static const double passed[2] = {80, 60};
    for (size_t side = 0; side < 2; side++) {
        ck_assert_double_eq_tol(steps->held_um[side], held[side], 1e-6);
        ck_assert_double_eq_tol(steps->passed_um[side], passed[side], 1e-9);
        for (int step = 0; step < 4; step++) {
            double from_s = steps->start_s + step + 0.1, amplitude = 40 + 20 * step;
            double share = measured_share(&recording, side, from_s, from_s + 0.8);
            double wanted = amplitude > held[side] ? clipped_share(held[side] / amplitude) : 0;
            // Tracking error of this arm adds its second harmonic, 0.4 % at most.
            ck_assert_double_eq_tol(share, wanted, 0.006);
        }
    }
    recording_clear(&recording);
}
END_TEST

// Levels of the steps: 2π · 315 Hz · A of the lateral swing.
START_TEST(steps_have_their_amplitudes)
{
    Recording recording = planned_make(THREE_TONES, QUIET "response.riaa=none");
    const DwRecordSideBand *steps = &planned_truth(&recording)->bands[2];
    for (int step = 0; step < 4; step++) {
        double from_s = steps->start_s + step + 0.1;
        double cm_s = 2 * M_PI * 315 * (40 + 20 * step) * 1e-4;
        double level = 20 * log10(planned_peak(&recording, 1, from_s, from_s + 0.8, 315));
        ck_assert_double_eq_tol(level, -24 + 20 * log10(cm_s / 5), 1e-3);
    }
    recording_clear(&recording);
}
END_TEST

// ---- slow movements -------------------------------------------------------

// Tones through the resonance: x²/√((1 − x²)² + (x/Q)²), f₀ = 159.155/√(M·C): 17 g
// on 18 µm/mN is 9.098 Hz; sideways 23 g make it 7.822 Hz.
START_TEST(the_arm_resonates)
{
    static const double tones[] = {5, 8, 9, 12, 25};
    static const char *const directions[] = {"lateral", "vertical"};
    char plan[3000] = RECORD;
    for (int i = 0; i < 10; i++)
        snprintf(plan + strlen(plan), sizeof plan - strlen(plan),
                 "[band %d]\nkind=tone\nchannel=%s\nfrequency=%g\nlevel=0.1 cm/s\nlength=6\n", i + 1, directions[i / 5],
                 tones[i % 5]);
    Recording recording = planned_make(plan, QUIET "response.riaa=none synth.rate=8000 arm.effective_mass=10g "
                                                   "arm.lateral_mass=16g cartridge.mass=6g cartridge.hardware_mass=1g "
                                                   "cartridge.compliance=18 cartridge.compliance_frequency=10Hz "
                                                   "resonance.q=3");
    static const double resonance_hz[] = {159.1549 / 20.3470, 159.1549 / 17.4929}; // √(23·18), √(17·18)
    for (int i = 0; i < 10; i++) {
        double x = tones[i % 5] / resonance_hz[i / 5];
        double wanted = x * x / hypot(1 - x * x, x / 3);
        double peak = band_peak(&recording, 0, (size_t)i, 1.5, tones[i % 5]);
        ck_assert_double_eq_tol(20 * log10(peak), -24 + 20 * log10(0.1 / 5 * wanted), 0.02);
    }
    ck_assert_double_eq_tol(planned_truth(&recording)->resonance_hz[DW_PICKUP_VERTICAL], 9.098, 1e-3);
    recording_clear(&recording);
}
END_TEST

// The deviation of a tone's speed every STEP_S, from the growth of naive phases of
// twice that length. The caller frees it with free().
static double *deviations(const Recording *recording, double from_s, double to_s, double tone_hz, double step_s,
                          size_t *count)
{
    double *speed = dw_memory_new((size_t)((to_s - from_s) / step_s) + 1, sizeof *speed), last = 0;
    size_t step = (size_t)(step_s * recording->rate_hz);
    *count = 0;
    for (size_t at = (size_t)(from_s * recording->rate_hz); (double)(at + 2 * step) < to_s * recording->rate_hz;
         at += step) {
        double real = 0, imaginary = 0;
        for (size_t i = at; i < at + 2 * step; i++) {
            double weight = 1 - cos(M_PI * (double)(i - at) / (double)step);
            double angle = 2 * M_PI * fmod(tone_hz * (double)i / recording->rate_hz, 1);
            real += weight * recording_at(recording, i, 0) * cos(angle);
            imaginary -= weight * recording_at(recording, i, 0) * sin(angle);
        }
        double phase = atan2(imaginary, real);
        speed[(*count)++] = remainder(phase - last, 2 * M_PI) / (2 * M_PI) / step_s / tone_hz;
        last = phase;
    }
    speed[0] = speed[1]; // the first has nothing before it
    return speed;
}

static double wow_percent(const Recording *recording, double from_s, double to_s, double tone_hz, double rotation_hz)
{
    size_t count;
    double *speed = deviations(recording, from_s, to_s, tone_hz, 0.025, &count);
    double peak = 100 * line_peak(speed + 1, count - 1, 40, rotation_hz, NULL);
    free(speed);
    return peak;
}

// e/r: 0.3 mm off centre is 0.25 % at 119 mm and 0.33 % at 90 mm.
START_TEST(an_eccentric_record_wavers_more_towards_the_label)
{
    static const char plan[] =
        RECORD "[band 1]\nkind=tone\nchannel=lateral\nfrequency=3150\nlevel=0 dB\nlength=9.5\nradius=120 mm\n"
               "[band 2]\nkind=silence\nlength=180\nradius=118 mm\n"
               "[band 3]\nkind=tone\nchannel=lateral\nfrequency=3150\nlevel=0 dB\nlength=9.5\nradius=90 mm\n";
    static const char *const skips[] = {"synth.stop=10", "synth.skip=191"};
    static const double radii_mm[] = {119.05, 90}; // in the middle of the first, and of the last all along
    for (size_t i = 0; i < 2; i++) {
        char operands[200];
        snprintf(operands, sizeof operands, QUIET "synth.rate=8000 fault.eccentricity=0.3mm %s", skips[i]);
        Recording recording = planned_make(plan, operands);
        const DwRecordSideBand *band = &planned_truth(&recording)->bands[2 * i];
        double from_s = band->start_s + 0.2;
        ck_assert_double_eq_tol(band->radius_mm, radii_mm[i], 1e-9);
        double found = wow_percent(&recording, from_s, fmin(band->end_s - 0.1, from_s + 9.05), 3150, 5.0 / 9);
        ck_assert_double_eq_tol(found, 30 / radii_mm[i], 2e-3);
        recording_clear(&recording);
    }
}
END_TEST

// A warp of 1 mm once a turn moves the cartridge up and down, and the groove under
// an arm that is borne 20 mm up: 0.035 % peak at 120 mm. Source (recomputed): rise by height over radius.
START_TEST(a_warp_lifts_and_wavers)
{
    static const char plan[] = RECORD "[band 1]\nkind=tone\nchannel=lateral\nfrequency=3150\nlevel=0 dB\nlength=10\n"
                                      "radius=120 mm\n";
    Recording recording = planned_make(plan, QUIET "synth.rate=16000 response.riaa=none fault.warp=1:1mm "
                                                   "arm.pivot_to_spindle=222mm arm.effective_length=239.3mm "
                                                   "arm.bearing_height=20mm");
    ck_assert_double_eq_tol(wow_percent(&recording, 1.3, 1.3 + 9.05, 3150, 5.0 / 9), 0.0348, 5e-4);
    // 0.5 mm · 2π·(5/9) Hz = 0.1745 cm/s vertical, against 5 cm/s lateral, each √2 over its channels.
    double *difference = dw_memory_new(recording.frames, sizeof *difference);
    for (size_t i = 0; i < recording.frames; i++)
        difference[i] = (recording_at(&recording, i, 0) - recording_at(&recording, i, 1)) / 2;
    double lift = line_peak(difference + 16000, 9 * 16000, 16000, 5.0 / 9, NULL);
    ck_assert_double_eq_tol(20 * log10(lift), -24 + 20 * log10(0.17453 / 5), 0.05);
    free(difference);
    recording_clear(&recording);
}
END_TEST

// Power between two frequencies, by naive sums 1/20 s⁻¹ apart.
static double power_between(const double *values, size_t count, double rate_hz, double low_hz, double high_hz)
{
    double sum = 0;
    for (double hz = low_hz; hz < high_hz; hz += 0.05)
        sum += pow(line_peak(values, count, rate_hz, hz, NULL), 2);
    return sum;
}

// The head of the arm over the groove, (1 + jx/Q)/(1 − x² + jx/Q), within the
// Butterworth band of 2 to 100 Hz of the noise that drives it.
static double head_power(double hz, double resonance_hz, double q)
{
    double x = hz / resonance_hz;
    double band = 1 / (1 + pow(2 / hz, 4)) / (1 + pow(hz / 100, 4));
    return band * (1 + x * x / (q * q)) / (pow(1 - x * x, 2) + x * x / (q * q));
}

START_TEST(an_arm_modulates_a_steady_tone_about_its_resonance)
{
    static const char plan[] = RECORD "[band 1]\nkind=tone\nchannel=lateral\nfrequency=3150\nlevel=0 dB\nlength=41\n";
    Recording recording =
        planned_make(plan, QUIET "synth.rate=8000 fault.arm_flutter=0.05 arm.effective_mass=10g cartridge.mass=6g "
                                 "cartridge.compliance=18 cartridge.compliance_frequency=10Hz resonance.q=4");
    size_t count;
    double *speed = deviations(&recording, 1.2, 41.2, 3150, 0.005, &count), squares = 0, hump = 0, slope = 0;
    for (size_t i = 1; i < count; i++)
        squares += speed[i] * speed[i] / (double)(count - 1);
    // Half of its power lies within a bandwidth of 9.1/4 Hz: 5 % standard error of the rms in 40 s.
    ck_assert_double_eq_tol(100 * sqrt(squares), 0.05, 0.01);
    for (double hz = 7.5; hz < 11; hz += 0.05)
        hump += head_power(hz, 9.098, 4);
    for (double hz = 14; hz < 22; hz += 0.05)
        slope += head_power(hz, 9.098, 4);
    double ratio = power_between(speed, count, 200, 7.5, 11) / power_between(speed, count, 200, 14, 22);
    ck_assert_double_eq_tol(10 * log10(ratio), 10 * log10(hump / slope), 1.5);
    free(speed);
    recording_clear(&recording);
}
END_TEST

// ---- refusals -------------------------------------------------------------

START_TEST(what_cannot_be_played_is_refused_in_one_line)
{
    static const char *const table[][2] = {
        {"synth.length=5", "synth.length is for a recording of one tone"},
        {"fault.separation=20 synth.side=left", "synth.side is for a recording of one tone"},
        {"deck.speed=45rpm", "The plan is of a record for 33.33 rpm"},
        {"arm.effective_length=239mm", "give arm.pivot_to_spindle"},
        {"arm.pivot_to_spindle=222mm arm.effective_length=239mm fault.arm_height=3mm", "cartridge.vertical_angle"},
        {"arm.pivot_to_spindle=222mm arm.effective_length=80mm", "does not reach the groove at"},
        {"cartridge.inductance=500mH", "Give them all, or none"},
        {"synth.rate=8000 fault.speed_error=30", "A tone of 4095 Hz does not fit"},
        {"fault.arm_flutter=0.1", "give arm.effective_mass"},
        {"synth.lead_silence=3 fault.skip=2s:1.8s", "at 2.00 s the stylus is not in the groove yet"},
        {"synth.skip=100", "Nothing is left of the side"},
        {"fault.wow=50 fault.wow_second=50", "fall to nothing"},
    };
    char path[40], operands[400];
    plan_write(THREE_TONES, path);
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        snprintf(operands, sizeof operands, "record.plan=%s %s", path, table[i][0]);
        DwInputs *inputs = inputs_of(operands, NULL);
        ck_assert_msg(inputs != NULL, "%s", operands);
        DwSynth *synth = NULL;
        DwMessage message = {""};
        ck_assert_int_eq(dw_synth_new(inputs, &synth, &message), DW_BAD_INPUT);
        ck_assert_msg(strstr(message.text, table[i][1]), "%s: %s", table[i][0], message.text);
        dw_inputs_free(inputs);
    }
    unlink(path);
    DwMessage message = {""};
    DwInputs *inputs = inputs_of("fault.azimuth=2", NULL);
    DwSynth *synth = NULL;
    ck_assert_int_eq(dw_synth_new(inputs, &synth, &message), DW_BAD_INPUT);
    ck_assert_str_eq(message.text, "fault.azimuth needs a planned side. Add record.plan=FILE, or leave it out.");
    dw_inputs_free(inputs);
}
END_TEST

START_TEST(radii_are_asked_for_where_they_count)
{
    static const char plan[] = RECORD "[band 1]\nkind=tone\nchannel=left\nfrequency=1000\nlevel=0 dB\nlength=1\n";
    char path[40], operands[200];
    plan_write(plan, path);
    DwMessage message = {""};
    snprintf(operands, sizeof operands, "record.plan=%s fault.eccentricity=0.2mm", path);
    DwInputs *inputs = inputs_of(operands, NULL);
    DwSynth *synth = NULL;
    ck_assert_int_eq(dw_synth_new(inputs, &synth, &message), DW_BAD_INPUT);
    ck_assert_msg(strstr(message.text, "where the bands lie"), "%s", message.text);
    dw_inputs_set_operand(inputs, "record.radius=100mm", NULL);
    ck_assert_int_eq(dw_synth_new(inputs, &synth, &message), DW_OK);
    dw_synth_free(synth);
    dw_inputs_free(inputs);
    unlink(path);
}
END_TEST

DW_SUITE("side playing", block_size_changes_no_sample, bands_begin_when_a_fast_deck_gets_to_them,
         a_side_can_begin_late_end_early_and_skip, announcements_fill_gaps_that_have_the_room, the_arm_resonates,
         what_cannot_be_played_is_refused_in_one_line, radii_are_asked_for_where_they_count, DW_FIGURES,
         the_stylus_holds_the_groove_as_far_as_its_force_goes, steps_have_their_amplitudes,
         an_eccentric_record_wavers_more_towards_the_label, a_warp_lifts_and_wavers,
         an_arm_modulates_a_steady_tone_about_its_resonance)
