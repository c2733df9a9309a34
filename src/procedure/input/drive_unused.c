// SPDX-License-Identifier: MIT
#include "procedure/input/drive_unused.h"

#include "base/text.h"

#include <string.h>

void dw_drive_unused_remark(const DwInputs *inputs, DwDriveKind kind, DwSheet *sheet)
{
    unsigned between = dw_inputs_given(inputs, "drive.idler_driven_diameter"); // a belt may drive it, or leave it
    const char *motor = dw_inputs_word(inputs, "drive.motor_kind");
    unsigned on_direct_current =
        strcmp(motor, "synchronous") != 0 && strcmp(motor, "induction") != 0; // direct drives are
    const struct {
        const char *key;
        unsigned kinds; // that use it
    } uses[] = {
        {"drive.belt_length", 1u << DW_DRIVE_BELT | between << DW_DRIVE_IDLER},
        {"drive.belt_thickness", 1u << DW_DRIVE_BELT | between << DW_DRIVE_IDLER},
        {"drive.belt_width", 1u << DW_DRIVE_BELT},
        {"drive.belt_listed_length", 1u << DW_DRIVE_BELT},
        {"drive.belt_age", 1u << DW_DRIVE_BELT},
        {"drive.belt_hours", 1u << DW_DRIVE_BELT},
        {"drive.belt_hump", 1u << DW_DRIVE_BELT},
        {"drive.belt_modulus", 1u << DW_DRIVE_BELT},
        {"drive.belt_friction", 1u << DW_DRIVE_BELT},
        {"drive.belt_mass", 1u << DW_DRIVE_BELT},
        {"drive.belt_pluck", 1u << DW_DRIVE_BELT},
        {"drive.belt_push", 1u << DW_DRIVE_BELT},
        {"drive.belt_give", 1u << DW_DRIVE_BELT},
        {"drive.idler_hardness", 1u << DW_DRIVE_IDLER},
        {"drive.idler_diameter", 1u << DW_DRIVE_IDLER | between << DW_DRIVE_BELT},
        {"drive.idler_driven_diameter", 1u << DW_DRIVE_IDLER | 1u << DW_DRIVE_BELT},
        {"drive.first_belt_length", between << DW_DRIVE_BELT},
        {"drive.first_belt_thickness", between << DW_DRIVE_BELT},
        {"drive.first_belt_width", between << DW_DRIVE_BELT},
        {"drive.idler_mass", between << DW_DRIVE_BELT},
        {"drive.motors", 1u << DW_DRIVE_BELT | between << DW_DRIVE_IDLER},
        {"drive.poles", 1u << DW_DRIVE_DIRECT},
        {"drive.motor_kind", 1u << DW_DRIVE_BELT | 1u << DW_DRIVE_IDLER | on_direct_current << DW_DRIVE_DIRECT},
        {"drive.motor_poles", 1u << DW_DRIVE_BELT | 1u << DW_DRIVE_IDLER},
        {"drive.motor_slip", 1u << DW_DRIVE_BELT | 1u << DW_DRIVE_IDLER},
        {"drive.motor_speed", 1u << DW_DRIVE_BELT | 1u << DW_DRIVE_IDLER},
        {"drive.pulley_diameter", 1u << DW_DRIVE_BELT | 1u << DW_DRIVE_IDLER},
        {"drive.rim_diameter", 1u << DW_DRIVE_BELT | 1u << DW_DRIVE_IDLER},
        {"drive.centre_distance", 1u << DW_DRIVE_BELT},
    };
    DwText unused = {0};
    for (size_t i = 0; i < sizeof uses / sizeof *uses; i++)
        if (!(uses[i].kinds & 1u << kind) && dw_inputs_given(inputs, uses[i].key))
            dw_text_add(&unused, "%s%s", unused.length ? ", " : "", uses[i].key);
    if (unused.length)
        dw_sheet_remark(sheet, "Not used, as the drive is stated to be %s: %s. Is drive.kind right?",
                        kind == DW_DRIVE_BELT    ? "a belt drive"
                        : kind == DW_DRIVE_IDLER ? "an idler drive"
                                                 : "a direct drive",
                        unused.chars);
    dw_text_clear(&unused);
}
