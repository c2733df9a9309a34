// SPDX-License-Identifier: MIT
// Writes the side that side_sheet.py measures another way: write-side FOLDER puts
// side.wav and side.plan there and prints the start of each band.
#include "support/side_file.h"
#include "support/side_plan.h"

#include <stdio.h>

static SideCase what(void)
{
    SideCase what = side_case(48000, 1.013);
    what.pickup.rotation_deg = -0.8;
    what.pickup.leak[0] = 0.02;
    what.pickup.leak[1] = 0.035;
    what.pickup.gain[1] = 0.94;
    what.pickup.noise = 0.0005;
    what.pickup.rumble = 0.04;
    what.treble = 0.85;
    what.pickup.limit[1] = 0.44; // of the highest step
    what.resonance_hz[0] = 7.5;
    what.resonance_hz[1] = 9.5;
    what.resonance_q[0] = 2.5;
    what.resonance_q[1] = 3.5;
    return what;
}

int main(int count, char **words)
{
    char path[4096];
    DwMessage message = {""};
    DwBandPlan plan;
    if (count != 2)
        return 2;
    snprintf(path, sizeof path, "%s/side.plan", words[1]);
    FILE *file = fopen(path, "w");
    if (!file || fputs(side_plan_text, file) < 0 || fclose(file) != 0)
        return 1;
    if (dw_band_plan_read(path, &plan, &message) != DW_OK)
        return fprintf(stderr, "%s\n", message.text), 1;
    SidePlayer player;
    side_start(&player, &plan, what());
    snprintf(path, sizeof path, "%s/side.wav", words[1]);
    if (side_write(&player, path, &message) != DW_OK)
        return fprintf(stderr, "%s\n", message.text), 1;
    for (size_t i = 0; i < plan.count; i++)
        printf("%.6f %.6f\n", side_truth(&player, plan.bands[i].number), plan.bands[i].length_s / what().pickup.speed);
    dw_band_plan_clear(&plan);
    return 0;
}
