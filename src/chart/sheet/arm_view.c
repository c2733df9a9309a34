// SPDX-License-Identifier: MIT
#include "chart/sheet/arm_view.h"

#include "chart/sheet/arm_plan.h"
#include "chart/sheet/arm_side.h"

#include <math.h>
#include <string.h>

bool dw_arm_view_fits(const DwSheet *sheet)
{
    return dw_arm_plan_fits(sheet) || dw_arm_side_fits(sheet);
}

const char *dw_arm_view_title(const DwSheet *sheet)
{
    return dw_arm_plan_fits(sheet) ? dw_arm_plan_title() : dw_arm_side_title();
}

char *dw_arm_view_words(const DwSheet *sheet)
{
    return dw_arm_plan_fits(sheet) ? dw_arm_plan_words(sheet) : dw_arm_side_words(sheet);
}

double dw_arm_view_height(const DwSheet *sheet, double width, double em)
{
    return dw_arm_plan_fits(sheet) ? dw_arm_plan_height(sheet, width, em) : dw_arm_side_height(width);
}

void dw_arm_view_draw(const DwCanvas *canvas, const DwSheet *sheet, DwBox box)
{
    if (dw_arm_plan_fits(sheet))
        dw_arm_plan_draw(canvas, sheet, box);
    else
        dw_arm_side_draw(canvas, sheet, box);
}

double dw_arm_view_reading(const DwSheet *sheet, const char *key)
{
    const DwReading *found = dw_sheet_reading(sheet, key);
    return found && !found->word ? found->value : NAN;
}

double dw_arm_view_input(const DwSheet *sheet, const char *key)
{
    for (size_t i = 0; i < sheet->input_count; i++)
        if (strcmp(sheet->inputs[i].key, key) == 0)
            return sheet->inputs[i].value;
    return NAN;
}
