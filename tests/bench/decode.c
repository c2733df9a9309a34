// SPDX-License-Identifier: MIT
// Decodes a recording into the void: what reading alone costs.
#include "audio/source.h"

#include <stdio.h>

int main(int count, char **arguments)
{
    enum { BLOCK = 8192 };
    static float samples[BLOCK * 2];
    DwSource *source = NULL;
    DwMessage message = {""};
    if (count != 2 || dw_source_open(arguments[1], &source, &message) != DW_OK) {
        fprintf(stderr, "decode RECORDING: %s\n", message.text);
        return 2;
    }
    DwStatus status = DW_OK;
    for (size_t got = 1; status == DW_OK && got > 0;)
        status = dw_source_read(source, samples, BLOCK, &got, NULL, &message);
    dw_source_close(source);
    return status == DW_OK ? 0 : 1;
}
