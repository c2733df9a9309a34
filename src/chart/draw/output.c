// SPDX-License-Identifier: MIT
#include "chart/draw/output.h"

#include "base/memory.h"

#include <string.h>

cairo_status_t dw_output_keep(void *closure, const unsigned char *data, unsigned length)
{
    DwOutput *output = closure;
    if (output->length + length + 1 > output->room) {
        output->room = 2 * output->room + length + 1;
        output->bytes = dw_memory_resize(output->bytes, output->room, 1);
    }
    memcpy(output->bytes + output->length, data, length);
    output->length += length;
    output->bytes[output->length] = 0;
    return CAIRO_STATUS_SUCCESS;
}
