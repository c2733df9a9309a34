// SPDX-License-Identifier: MIT
#include "procedure/side/plan_file.h"

#include "base/place.h"

char *dw_plan_file_path(const char *name)
{
    return dw_data_path("plans", name, ".plan");
}
