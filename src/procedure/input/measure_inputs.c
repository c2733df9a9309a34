// SPDX-License-Identifier: MIT
#include "procedure/input/measure_inputs.h"

#include "procedure/input/drive_inputs.h"
#include "physics/load_network.h"
#include "procedure/input/noise_reference.h"

#include <math.h>
#include <string.h>

static bool is(const DwInputs *inputs, const char *key, const char *word)
{
    return strcmp(dw_inputs_word(inputs, key), word) == 0;
}

bool dw_measure_inputs_equalised(const DwInputs *inputs)
{
    return is(inputs, "response.riaa", "applied");
}

DwChannelsSettings dw_measure_inputs_channels(const DwInputs *inputs)
{
    return (DwChannelsSettings){
        .left_first = is(inputs, "channels.order", "left_first"),
        .velocity_cm_s = dw_inputs_in(inputs, "channels.velocity", "cm/s"),
        .full_scale_mv = dw_inputs_in(inputs, "channels.full_scale", "mV"),
        .crosstalk_db = dw_inputs_in(inputs, "record.crosstalk", "dB"),
        .record_balance_db = dw_inputs_in(inputs, "record.balance", "dB"),
        .record_balance_off_db = dw_inputs_in(inputs, "record.balance_tolerance", "dB"),
        .output_mv = dw_inputs_given(inputs, "cartridge.output") ? dw_inputs_in(inputs, "cartridge.output", "mV") : NAN,
    };
}

DwAzimuthSettings dw_measure_inputs_azimuth(const DwInputs *inputs)
{
    return (DwAzimuthSettings){
        .left_first = is(inputs, "channels.order", "left_first"),
        .limit_deg = dw_inputs_in(inputs, "azimuth.limit", "deg"),
        .width_mm = dw_inputs_in(inputs, "azimuth.width", "mm"),
        .crosstalk_db = dw_inputs_in(inputs, "record.crosstalk", "dB"),
    };
}

DwStatus dw_measure_inputs_noise(const DwInputs *inputs, DwNoiseSettings *settings, DwMessage *message)
{
    *settings = (DwNoiseSettings){
        .equalise = !dw_measure_inputs_equalised(inputs),
        .mains_hz = dw_inputs_in(inputs, "deck.mains", "Hz"),
        .mains_given = dw_inputs_given(inputs, "deck.mains"),
    };
    DwStatus status = dw_noise_curve_read("rumble-unweighted", &settings->unweighted, message);
    return status == DW_OK ? dw_noise_curve_read("rumble-weighted", &settings->weighted, message) : status;
}

DwStatus dw_measure_inputs_drive(const DwInputs *inputs, double speed_rpm, bool *given, DwDrive *drive,
                                 DwMessage *message)
{
    *given = dw_drive_inputs_given(inputs);
    if (!*given)
        return DW_OK;
    DwDriveStep steps[DW_DRIVE_STEPS_MOST];
    size_t count = 0;
    DwStatus status = dw_drive_inputs_read(inputs, steps, &count, message);
    if (status == DW_OK)
        *drive = steps[dw_drive_inputs_step(steps, count, speed_rpm)].drive;
    return status;
}

DwStatus dw_measure_inputs_noise_drive(const DwInputs *inputs, double speed_rpm, DwNoiseDrive *drive,
                                       DwMessage *message)
{
    *drive = (DwNoiseDrive){0};
    DwDrive described;
    bool given;
    DwStatus status = dw_measure_inputs_drive(inputs, speed_rpm, &given, &described, message);
    if (status == DW_OK && given)
        drive->count = dw_drive_rates(&described, speed_rpm, drive->rates);
    return status;
}

static DwResponseChannel channel_from(const char *word)
{
    return strcmp(word, "left") == 0    ? DW_RESPONSE_LEFT
           : strcmp(word, "right") == 0 ? DW_RESPONSE_RIGHT
           : strcmp(word, "both") == 0  ? DW_RESPONSE_BOTH
                                        : DW_RESPONSE_AUTO;
}

DwResponseSettings dw_measure_inputs_response(const DwInputs *inputs, DwLoading *loading)
{
    bool coil = isfinite(dw_inputs_in(inputs, "cartridge.inductance", "mH")) &&
                isfinite(dw_inputs_in(inputs, "cartridge.resistance", "ohm"));
    double lead = dw_inputs_in(inputs, "cable.capacitance", "pF"), length = dw_inputs_in(inputs, "cable.length", "m");
    bool known = coil && (isfinite(lead) || isfinite(length));
    if (known)
        *loading = dw_load_network_find(inputs).seen;
    return (DwResponseSettings){
        .equalised = dw_measure_inputs_equalised(inputs),
        .cut = is(inputs, "response.cut", "bass")        ? DW_RESPONSE_CUT_BASS
               : is(inputs, "response.cut", "velocity")  ? DW_RESPONSE_CUT_VELOCITY
               : is(inputs, "response.cut", "amplitude") ? DW_RESPONSE_CUT_AMPLITUDE
                                                         : DW_RESPONSE_CUT_RIAA,
        .channel = channel_from(dw_inputs_word(inputs, "response.channel")),
        .parts = dw_inputs_in(inputs, "response.smoothing", ""),
        .loading = known ? loading : NULL,
        .inductance_off = dw_inputs_in(inputs, "cartridge.inductance_tolerance", "fraction"),
    };
}

static DwLowsweepOrder low_order(const DwInputs *inputs)
{
    if (is(inputs, "lowsweep.order", "lateral_first"))
        return DW_LOWSWEEP_LATERAL_FIRST;
    return is(inputs, "lowsweep.order", "vertical_first") ? DW_LOWSWEEP_VERTICAL_FIRST : DW_LOWSWEEP_ORDER_UNKNOWN;
}

DwLowsweepSettings dw_measure_inputs_lowsweep(const DwInputs *inputs)
{
    double arm = dw_inputs_in(inputs, "arm.effective_mass", "g"),
           lateral = dw_inputs_in(inputs, "arm.lateral_mass", "g");
    double hung = dw_inputs_in(inputs, "cartridge.mass", "g") + dw_inputs_in(inputs, "cartridge.hardware_mass", "g");
    return (DwLowsweepSettings){
        .equalised = dw_measure_inputs_equalised(inputs),
        .subsonic = is(inputs, "lowsweep.subsonic", "yes"),
        .amplitude_cut = is(inputs, "lowsweep.cut", "amplitude"),
        .order = low_order(inputs),
        .lateral_g = (isfinite(lateral) ? lateral : arm) + hung,
        .vertical_g = arm + hung,
        .mass_off_g = dw_inputs_in(inputs, "arm.mass_tolerance", "g"),
    };
}

static double mean_of(const DwInputs *inputs, const char *key, const char *unit)
{
    double sum = 0;
    size_t count = dw_inputs_count(inputs, key);
    for (size_t i = 0; i < count; i++)
        sum += dw_inputs_in_at(inputs, key, i, unit);
    return count ? sum / (double)count : NAN;
}

DwTrackingSettings dw_measure_inputs_tracking(const DwInputs *inputs)
{
    return (DwTrackingSettings){
        .in_decibels = is(inputs, "tracking.unit", "dB"),
        .equalised = dw_measure_inputs_equalised(inputs),
        .limit_percent = dw_inputs_in(inputs, "tracking.limit", "%"),
        .force_g = mean_of(inputs, "force.reading", "g"),
        .force_high_g = dw_inputs_in(inputs, "force.high", "g"),
    };
}
