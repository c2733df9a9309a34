// SPDX-License-Identifier: MIT
#include "procedure/align/arm_setup.h"

#include <math.h>
#include <string.h>

// The radii that the alignment literature and the standards give; the outer
// one of "iec" is from the 1958 edition of IEC 98, later editions have 146.3;
// 57.5 is DIN 45547:1981, quoted with 146.05 in the literature though that
// standard's own outer radius is 146.3; JIS S 8502-1973.
static const struct {
    const char *word;
    DwGroove groove;
} grooves[] = {
    {"iec", {60.325, 146.05}}, {"iec_1964", {60.325, 146.3}}, {"din", {57.5, 146.05}},
    {"jis", {57.6, 146.5}},    {"seven_inch", {53, 84}},      {"ten_inch", {57.6, 121}},
};

// What makers print is rounded: their three lengths may differ by so much.
static const double rounding_mm = 0.5;
static const double nulls_apart_mm = 1; // nearer than that they are one

static const struct {
    const char *word;
    const char *name, *straight; // of an arm with an offset, and of one without
    DwAlignment alignment;
    DwAimKind aim;
} methods[] = {
    {"loefgren_a", "Löfgren A (Baerwald)", "straight arm, least worst distortion", DW_ALIGNMENT_LOEFGREN_A,
     DW_AIM_WORST_DISTORTION},
    {"loefgren_b", "Löfgren B", "straight arm, least mean distortion", DW_ALIGNMENT_LOEFGREN_B, DW_AIM_MEAN_DISTORTION},
    {"stevenson_a", "Stevenson A", "straight arm, tangent at the last groove", DW_ALIGNMENT_STEVENSON_A, DW_AIM_NULLS},
    {"unweighted", "least worst angle", "straight arm, least worst angle", DW_ALIGNMENT_UNWEIGHTED, DW_AIM_WORST_ANGLE},
};

static DwAimKind aim_of(const char *method)
{
    for (size_t i = 0; i < sizeof methods / sizeof *methods; i++)
        if (strcmp(methods[i].word, method) == 0)
            return methods[i].aim;
    return DW_AIM_NULLS;
}

const char *dw_arm_setup_method_name(DwArmKind kind, const char *method)
{
    for (size_t i = 0; i < sizeof methods / sizeof *methods; i++)
        if (strcmp(methods[i].word, method) == 0)
            return kind == DW_ARM_UNDERHUNG ? methods[i].straight : methods[i].name;
    return kind == DW_ARM_UNDERHUNG ? "straight arm, own null radius" : "own null radii";
}

DwArm dw_arm_setup_at_distance(DwArmKind kind, DwNulls nulls, double pivot_to_spindle_mm)
{
    return kind == DW_ARM_UNDERHUNG ? dw_alignment_underhung_at_distance(nulls.inner_mm, pivot_to_spindle_mm)
                                    : dw_arm_at_distance(nulls, pivot_to_spindle_mm);
}

DwArm dw_arm_setup_drawn(const DwInputs *inputs, const DwArmSetup *setup, bool *as_stated)
{
    *as_stated = setup->has_stated && !dw_inputs_given(inputs, "align.method");
    return *as_stated ? setup->stated : setup->ideal;
}

void dw_arm_setup_refine(const char *method, DwOptimumFree free, DwGroove groove, DwArm *arm)
{
    static const struct {
        DwAimKind aim;
        DwOptimumCriterion criterion;
        DwOptimumForm form;
    } optima[] = {{DW_AIM_WORST_DISTORTION, DW_OPTIMUM_PEAK_WEIGHTED, DW_OPTIMUM_TANGENTS},
                  {DW_AIM_MEAN_DISTORTION, DW_OPTIMUM_RMS_WEIGHTED, DW_OPTIMUM_TANGENTS},
                  {DW_AIM_WORST_ANGLE, DW_OPTIMUM_PEAK_ERROR, DW_OPTIMUM_ANGLES}};
    for (size_t i = 0; i < sizeof optima / sizeof *optima; i++)
        if (optima[i].aim == aim_of(method))
            dw_arm_optimum_find((DwOptimumTask){optima[i].criterion, optima[i].form, free}, groove, arm);
}

static DwStatus read_groove(const DwInputs *inputs, DwGroove *groove, DwMessage *message)
{
    const char *word = dw_inputs_word(inputs, "record.groove");
    DwGroove read = {NAN, NAN};
    for (size_t i = 0; i < sizeof grooves / sizeof *grooves; i++)
        if (strcmp(grooves[i].word, word) == 0)
            read = grooves[i].groove;
    if (dw_inputs_given(inputs, "record.inner_radius"))
        read.inner_mm = dw_inputs_in(inputs, "record.inner_radius", "mm");
    if (dw_inputs_given(inputs, "record.outer_radius"))
        read.outer_mm = dw_inputs_in(inputs, "record.outer_radius", "mm");
    if (isnan(read.inner_mm) || isnan(read.outer_mm))
        return dw_fail(message, DW_BAD_INPUT,
                       "record.groove=own needs both record.inner_radius and record.outer_radius.");
    if (read.outer_mm < read.inner_mm + 1)
        return dw_fail(message, DW_BAD_INPUT,
                       "The first groove (%g mm) must lie outside the last (%g mm): check record.inner_radius and "
                       "record.outer_radius.",
                       read.outer_mm, read.inner_mm);
    *groove = read;
    return DW_OK;
}

static DwStatus own_nulls(const DwInputs *inputs, DwArmKind kind, DwNulls *nulls, DwMessage *message)
{
    DwNulls own = {dw_inputs_in(inputs, "align.null_inner", "mm"), dw_inputs_in(inputs, "align.null_outer", "mm")};
    if (kind == DW_ARM_UNDERHUNG) {
        if (isnan(own.inner_mm))
            return dw_fail(message, DW_BAD_INPUT,
                           "Own null radii: an underhung arm has one. Give it as align.null_inner=RADIUS.");
        own.outer_mm = NAN;
    } else if (isnan(own.inner_mm) || isnan(own.outer_mm))
        return dw_fail(message, DW_BAD_INPUT, "Own null radii: give both align.null_inner and align.null_outer.");
    else if (own.outer_mm < own.inner_mm + nulls_apart_mm)
        return dw_fail(message, DW_BAD_INPUT,
                       "align.null_outer (%g mm) must lie outside align.null_inner (%g mm): an arm with an offset is "
                       "tangent at two radii.",
                       own.outer_mm, own.inner_mm);
    *nulls = own;
    return DW_OK;
}

DwStatus dw_arm_setup_nulls(const DwInputs *inputs, const char *method, DwArmKind kind, DwGroove groove, DwNulls *nulls,
                            DwMessage *message)
{
    for (size_t i = 0; i < sizeof methods / sizeof *methods; i++) {
        if (strcmp(methods[i].word, method) != 0)
            continue;
        *nulls = kind == DW_ARM_UNDERHUNG ? (DwNulls){dw_alignment_underhung_null(methods[i].alignment, groove), NAN}
                                          : dw_alignment_nulls(methods[i].alignment, groove);
        return DW_OK;
    }
    return own_nulls(inputs, kind, nulls, message);
}

// The four measures as given; NAN where not. Two lengths give the third.
typedef struct {
    double distance, length, overhang, offset;
    int lengths; // how many of the first three were given
} Measures;

static DwStatus read_measures(const DwInputs *inputs, Measures *measures, DwMessage *message)
{
    Measures read = {
        .distance = dw_inputs_in(inputs, "arm.pivot_to_spindle", "mm"),
        .length = dw_inputs_in(inputs, "arm.effective_length", "mm"),
        .overhang = dw_inputs_in(inputs, "arm.overhang", "mm"),
        .offset = dw_inputs_in(inputs, "arm.offset", "deg"),
    };
    read.lengths = !isnan(read.distance) + !isnan(read.length) + !isnan(read.overhang);
    if (read.lengths == 3 && fabs(read.length - read.distance - read.overhang) > rounding_mm)
        return dw_fail(message, DW_BAD_INPUT,
                       "The arm contradicts itself: effective length %g less pivot to spindle %g is %.2f mm, not the "
                       "overhang %g. Leave out the one you trust least.",
                       read.length, read.distance, read.length - read.distance, read.overhang);
    if (read.lengths == 2) {
        if (isnan(read.distance))
            read.distance = read.length - read.overhang;
        if (isnan(read.length))
            read.length = read.distance + read.overhang;
    }
    *measures = read;
    return DW_OK;
}

// The alignment on whatever the measures fix: the mounting where it is known.
static DwStatus ideal_pivoted(const Measures *given, DwNulls nulls, DwArm *ideal, DwMessage *message)
{
    if (given->lengths >= 2 || !isnan(given->distance))
        *ideal = dw_arm_at_distance(nulls, given->distance);
    else if (!isnan(given->length))
        *ideal = dw_arm_at_length(nulls, given->length);
    else if (!isnan(given->overhang)) {
        if (given->overhang <= 0)
            return dw_fail(message, DW_BAD_INPUT,
                           "arm.overhang: an arm that stops short of the spindle is arm.kind=underhung.");
        *ideal = dw_arm_at_overhang(nulls, given->overhang);
    } else if (given->offset > 0)
        *ideal = dw_arm_at_offset(nulls, given->offset);
    else if (isnan(given->offset))
        return dw_fail(message, DW_BAD_INPUT,
                       "The arm is not known yet: give arm.pivot_to_spindle, or one of arm.effective_length, "
                       "arm.overhang, arm.offset.");
    else
        return dw_fail(message, DW_BAD_INPUT,
                       "arm.offset: a pivoted arm has more than 0°; a straight one is "
                       "arm.kind=underhung.");
    return DW_OK;
}

static DwStatus ideal_underhung(const DwInputs *inputs, const Measures *given, DwArmSetup *setup, DwMessage *message)
{
    double null_mm = setup->nulls.inner_mm;
    DwArm *ideal = &setup->ideal;
    DwOptimumFree free = DW_OPTIMUM_LENGTH;
    if (!isnan(given->offset) && given->offset != 0)
        return dw_fail(message, DW_BAD_INPUT,
                       "arm.offset: an underhung arm has none. Leave it out, or use "
                       "arm.kind=pivoted.");
    if (given->overhang > 0 || given->length > given->distance)
        return dw_fail(message, DW_BAD_INPUT,
                       "arm.kind=underhung: such an arm stops short of the spindle, but these measures reach past it. "
                       "Give arm.overhang as a negative length, or use arm.kind=pivoted.");
    if (given->lengths >= 2 || !isnan(given->distance))
        *ideal = dw_alignment_underhung_at_distance(null_mm, given->distance);
    else if (!isnan(given->length)) {
        *ideal = dw_alignment_underhung_at_length(null_mm, given->length);
        free = DW_OPTIMUM_DISTANCE;
    } else if (given->overhang < 0) {
        double underhang = -given->overhang;
        *ideal = dw_alignment_underhung_at_length(null_mm, (null_mm * null_mm / underhang - underhang) / 2);
        free = DW_OPTIMUM_BOTH_LENGTHS;
    } else
        return dw_fail(message, DW_BAD_INPUT,
                       "The arm is not known yet: give arm.pivot_to_spindle or arm.effective_length, or arm.overhang "
                       "as a negative length.");
    dw_arm_setup_refine(dw_inputs_word(inputs, "align.method"), free, setup->groove, ideal);
    if (!dw_arm_nulls(ideal, &setup->nulls))
        return dw_fail(message, DW_BAD_INPUT,
                       "An arm of these measures is tangent at no groove: check arm.pivot_to_spindle and "
                       "arm.effective_length.");
    return DW_OK;
}

// The arm as its maker states it, where the measures say more than its mounting.
static DwStatus read_stated(const Measures *given, DwArmSetup *setup, DwMessage *message)
{
    bool has_offset = !isnan(given->offset) && setup->kind == DW_ARM_PIVOTED;
    setup->has_stated = given->lengths >= 2 || (given->lengths == 1 && has_offset);
    if (!setup->has_stated)
        return DW_OK;
    setup->stated = setup->ideal;
    if (given->lengths >= 2)
        setup->stated.effective_length_mm = given->length;
    if (has_offset)
        setup->stated.offset_deg = given->offset;
    setup->stated_completed = setup->kind == DW_ARM_PIVOTED && !(given->lengths >= 2 && has_offset);
    if (!setup->stated_completed)
        return DW_OK;
    DwOptimumTask task = {DW_OPTIMUM_PEAK_WEIGHTED, DW_OPTIMUM_SINES, DW_OPTIMUM_OFFSET};
    if (given->lengths == 1)
        task.free = !isnan(given->distance) ? DW_OPTIMUM_LENGTH
                    : !isnan(given->length) ? DW_OPTIMUM_DISTANCE
                                            : DW_OPTIMUM_BOTH_LENGTHS;
    if (given->overhang <= 0 || given->length <= given->distance)
        return dw_fail(message, DW_BAD_INPUT,
                       "These measures are those of an arm that stops short of the spindle: say arm.kind=underhung, or "
                       "give arm.overhang as a positive length.");
    if (!dw_arm_optimum_find(task, setup->groove, &setup->stated))
        return dw_fail(message, DW_BAD_INPUT,
                       "No arm with these measures tracks a record: check the lengths and the offset against each "
                       "other.");
    return DW_OK;
}

static DwStatus check_reach(const DwArm *arm, const DwArmSetup *setup, DwMessage *message)
{
    DwTrackingCost cost;
    if (!(arm->pivot_to_spindle_mm > 0) || !isfinite(arm->effective_length_mm) || !isfinite(arm->offset_deg) ||
        !dw_tracking_cost(arm, setup->groove, setup->signal, &cost))
        return dw_fail(message, DW_BAD_INPUT,
                       "Such an arm does not reach the grooves from %g to %g mm: check arm.pivot_to_spindle and "
                       "arm.effective_length.",
                       setup->groove.inner_mm, setup->groove.outer_mm);
    return DW_OK;
}

static DwArmKind read_kind(const DwInputs *inputs)
{
    const char *word = dw_inputs_word(inputs, "arm.kind");
    return strcmp(word, "linear") == 0      ? DW_ARM_LINEAR
           : strcmp(word, "underhung") == 0 ? DW_ARM_UNDERHUNG
                                            : DW_ARM_PIVOTED;
}

DwStatus dw_arm_setup_read_record(const DwInputs *inputs, DwArmSetup *setup, DwMessage *message)
{
    DwArmSetup read = {
        .kind = read_kind(inputs),
        .signal = {dw_inputs_in(inputs, "align.velocity", "cm/s"), dw_inputs_in(inputs, "deck.speed", "rpm")},
        .nulls = {NAN, NAN},
        .ideal = {NAN, NAN, NAN},
        .stated = {NAN, NAN, NAN},
        .has_skew = dw_inputs_given(inputs, "cartridge.cantilever_skew"),
        .skew_deg = dw_inputs_in(inputs, "cartridge.cantilever_skew", "deg")};
    DwStatus status = read_groove(inputs, &read.groove, message);
    if (status == DW_OK && read.kind != DW_ARM_LINEAR)
        status = dw_arm_setup_nulls(inputs, dw_inputs_word(inputs, "align.method"), read.kind, read.groove, &read.nulls,
                                    message);
    read.aim = (DwAim){aim_of(dw_inputs_word(inputs, "align.method")), read.nulls, read.groove};
    if (status == DW_OK)
        *setup = read;
    return status;
}

DwStatus dw_arm_setup_read(const DwInputs *inputs, DwArmSetup *setup, DwMessage *message)
{
    DwArmSetup read;
    Measures given = {NAN, NAN, NAN, NAN, 0};
    DwStatus status = dw_arm_setup_read_record(inputs, &read, message);
    if (status == DW_OK)
        status = read_measures(inputs, &given, message);
    if (status != DW_OK)
        return status;
    if (read.kind != DW_ARM_LINEAR) {
        status = read.kind == DW_ARM_PIVOTED ? ideal_pivoted(&given, read.nulls, &read.ideal, message)
                                             : ideal_underhung(inputs, &given, &read, message);
        if (status == DW_OK)
            status = check_reach(&read.ideal, &read, message);
        if (status == DW_OK)
            status = read_stated(&given, &read, message);
        if (status == DW_OK && read.has_stated)
            status = check_reach(&read.stated, &read, message);
    }
    if (status == DW_OK)
        *setup = read;
    return status;
}
