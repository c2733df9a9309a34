// SPDX-License-Identifier: MIT
#include "audio/pulse.h"

#include "audio/pulse_link.h"
#include "base/memory.h"
#include "base/text.h"

#include <stdlib.h>
#include <string.h>

static const char *property(const pa_source_info *info, const char *key)
{
    const char *value = pa_proplist_gets(info->proplist, key);
    return value ? value : "";
}

// What is plugged into one card may be two inputs: line and microphone.
static char *label_of(const pa_source_info *info)
{
    const char *own = info->description && *info->description ? info->description : info->name;
    if (info->monitor_of_sink != PA_INVALID_INDEX || info->n_ports < 2 || !info->active_port ||
        !info->active_port->description)
        return dw_memory_text(own);
    return dw_text_format("%s, %s", own, info->active_port->description);
}

static void note_source(pa_context *context, const pa_source_info *info, int ended, void *opaque)
{
    (void)context;
    DwPulseList *list = opaque;
    if (ended || !info)
        return;
    const char *serial = property(info, "device.serial"), *bus = property(info, "device.bus_path");
    list->inputs = dw_memory_resize(list->inputs, list->count + 1, sizeof *list->inputs);
    list->inputs[list->count++] = (DwPulseInput){
        .name = dw_memory_text(info->name),
        .label = label_of(info),
        .place = dw_memory_text(*bus ? bus : serial),
        .is_monitor = info->monitor_of_sink != PA_INVALID_INDEX,
    };
}

// Inputs first, then what the computer plays; each kind by name, so that none changes its place.
static int compare(const void *a, const void *b)
{
    const DwPulseInput *one = a, *two = b;
    if (one->is_monitor != two->is_monitor)
        return one->is_monitor ? 1 : -1;
    return strcmp(one->name, two->name);
}

bool dw_pulse_list(DwPulseList *list)
{
    *list = (DwPulseList){0};
    DwPulseLink link;
    bool answers = dw_pulse_connect(&link) &&
                   dw_pulse_finish(&link, pa_context_get_source_info_list(link.context, note_source, list));
    list->is_silent = !answers && dw_pulse_is_silent(&link);
    dw_pulse_disconnect(&link);
    if (list->count > 1)
        qsort(list->inputs, list->count, sizeof *list->inputs, compare);
    return answers;
}

void dw_pulse_list_clear(DwPulseList *list)
{
    for (size_t i = 0; i < list->count; i++) {
        free(list->inputs[i].name);
        free(list->inputs[i].label);
        free(list->inputs[i].place);
    }
    free(list->inputs);
    *list = (DwPulseList){0};
}
