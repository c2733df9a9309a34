// SPDX-License-Identifier: MIT
#include "chart/draw/scale.h"

#include <math.h>

static const double largest = 1e300;

DwRange dw_scale_nothing(void)
{
    return (DwRange){INFINITY, -INFINITY};
}

DwRange dw_scale_widen(DwRange range, double value)
{
    if (isnan(value))
        return range;
    value = fmax(-largest, fmin(largest, value));
    return (DwRange){fmin(range.low, value), fmax(range.high, value)};
}

bool dw_scale_holds_something(DwRange range)
{
    return range.low <= range.high;
}

DwScale dw_scale_linear(DwRange range, double margin, double from, double to)
{
    if (!dw_scale_holds_something(range))
        range = (DwRange){0, 1};
    double span = range.high - range.low;
    // A span lost in the last digits of its values cannot be drawn either.
    if (span <= 1e-12 * fmax(fabs(range.low), fabs(range.high)) || span < 1e-300) {
        double room = fabs(range.low) > 1e-290 ? 0.1 * fabs(range.low) : 1;
        range = (DwRange){range.low - room, range.high + room};
    } else
        range = (DwRange){range.low - margin * span, range.high + margin * span};
    return (DwScale){.low = range.low, .high = range.high, .from = from, .to = to};
}

// The 1, 2 or 5 of a decade that lies between VALUE and VALUE times REACH, else
// VALUE: an axis that all but begins at a tick begins at it.
static double snap(double value, double reach)
{
    static const double leads[] = {1, 2, 5, 10};
    double power = pow(10, floor(log10(value)));
    for (size_t i = 0; i < sizeof leads / sizeof *leads; i++) {
        double tick = leads[i] * power;
        if (tick >= fmin(value, value * reach) && tick <= fmax(value, value * reach))
            return tick;
    }
    return value;
}

DwScale dw_scale_logarithmic(DwRange range, double from, double to)
{
    if (!dw_scale_holds_something(range) || range.low <= 0)
        range = (DwRange){1, 10};
    if (range.high < range.low * 1.02)
        range = (DwRange){range.low / 2, range.high * 2};
    return (DwScale){
        .low = snap(range.low, 1 / 1.05), .high = snap(range.high, 1.05), .from = from, .to = to, .logarithmic = true};
}

double dw_scale_place(const DwScale *scale, double value)
{
    double share;
    if (scale->logarithmic)
        share = value > 0 ? log(value / scale->low) / log(scale->high / scale->low) : -1;
    else {
        value = fmax(-largest, fmin(largest, value));
        share = (value - scale->low) / (scale->high - scale->low);
    }
    share = fmax(-1, fmin(2, share));
    return scale->from + share * (scale->to - scale->from);
}

// 1, 2 or 5 times a power of ten, the next one not less than STEP.
static double round_step(double step)
{
    double power = pow(10, floor(log10(step)));
    double lead = step / power;
    return (lead <= 1.0000001 ? 1 : lead <= 2.0000001 ? 2 : lead <= 5.0000001 ? 5 : 10) * power;
}

static DwTicks linear_ticks(const DwScale *scale, size_t wanted)
{
    DwTicks ticks = {0};
    double span = scale->high - scale->low;
    double step = round_step(span / (double)(wanted > 0 ? wanted : 1));
    double first = ceil(scale->low / step - 1e-9);
    for (size_t i = 0; i < DW_SCALE_TICKS_MOST; i++) {
        double value = (first + (double)i) * step;
        if (value > scale->high + 1e-9 * step || (i > 0 && value <= ticks.at[i - 1]))
            break;
        ticks.at[ticks.count++] = fabs(value) < 1e-9 * step ? 0 : value;
    }
    int decimals = (int)-floor(log10(step) + 1e-9);
    ticks.digits = decimals < 0 ? 0 : decimals;
    return ticks;
}

static DwTicks logarithmic_ticks(const DwScale *scale)
{
    static const double leads[] = {1, 2, 5};
    DwTicks ticks = {.digits = -1};
    double first = floor(log10(scale->low)), last = floor(log10(scale->high));
    // Many decades: only their beginnings, and not all of those.
    size_t lead_count = last - first > 12 ? 1 : 3;
    double stride = ceil(fmax(1, (last - first) / 14));
    for (double decade = first; decade <= last; decade += stride) {
        for (size_t i = 0; i < lead_count; i++) {
            double value = leads[i] * pow(10, decade);
            if (value < scale->low * (1 - 1e-9) || value > scale->high * (1 + 1e-9))
                continue;
            if (ticks.count < DW_SCALE_TICKS_MOST)
                ticks.at[ticks.count++] = value;
        }
    }
    return ticks;
}

DwTicks dw_scale_ticks(const DwScale *scale, size_t wanted)
{
    if (!scale->logarithmic)
        return linear_ticks(scale, wanted);
    DwTicks ticks = logarithmic_ticks(scale);
    // Less than a decade holds too few of 1, 2, 5 to read between them.
    return ticks.count >= 3 ? ticks : linear_ticks(scale, wanted);
}

double dw_scale_round_up(double value)
{
    static const double leads[] = {1, 1.5, 2, 3, 4, 5, 6, 8, 10};
    double power = pow(10, floor(log10(value)));
    for (size_t i = 0; i < sizeof leads / sizeof *leads; i++)
        if (value <= leads[i] * power * (1 + 1e-6)) // what a float holds of 0.3 is above it
            return leads[i] * power;
    return 10 * power;
}
