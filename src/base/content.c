// SPDX-License-Identifier: MIT
#include "base/content.h"

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

// A file is of the kind whose FIRST bytes it begins with and which has SECOND at its place.
typedef struct {
    const char *first;
    size_t first_length;
    size_t place;
    const char *second; // NULL: the first bytes are enough
    DwContent content;
} Signature;

#define BEGINS(text) (text), sizeof(text) - 1

// clang-format off
static const Signature signatures[] = {
    {BEGINS("\xFF\xD8\xFF"),             0, NULL,   {"JPEG", "image/jpeg", ".jpg",   DW_CONTENT_PICTURE}},
    {BEGINS("\x89PNG\r\n\x1A\n"),        0, NULL,   {"PNG",  "image/png",  ".png",   DW_CONTENT_PICTURE}},
    {BEGINS("RIFF"),                     8, "WEBP", {"WebP", "image/webp", ".webp",  DW_CONTENT_PICTURE}},
    {BEGINS("RIFF"),                     8, "WAVE", {"WAV",  "audio/wav",  ".wav",   DW_CONTENT_SOUND}},
    {BEGINS("RF64"),                     8, "WAVE", {"RF64", "audio/wav",  ".wav",   DW_CONTENT_SOUND}},
    {BEGINS("BW64"),                     8, "WAVE", {"BW64", "audio/wav",  ".wav",   DW_CONTENT_SOUND}},
    {BEGINS("FORM"),                     8, "AIFF", {"AIFF", "audio/aiff", ".aiff",  DW_CONTENT_SOUND}},
    {BEGINS("FORM"),                     8, "AIFC", {"AIFF", "audio/aiff", ".aiff",  DW_CONTENT_SOUND}},
    {BEGINS("fLaC"),                     0, NULL,   {"FLAC", "audio/flac", ".flac",  DW_CONTENT_SOUND}},
    {BEGINS("OggS"),                     0, NULL,   {"Ogg",  "audio/ogg",  ".ogg",   DW_CONTENT_SOUND, true}},
    {BEGINS("ID3"),                      0, NULL,   {"MP3",  "audio/mpeg", ".mp3",   DW_CONTENT_SOUND}},
    {BEGINS("\x1A\x45\xDF\xA3"),         0, NULL,   {"WebM", "audio/webm", ".webm",  DW_CONTENT_SOUND, true}},
    {BEGINS("%PDF-"),                    0, NULL,   {"PDF",  "application/pdf", ".pdf", DW_CONTENT_DOCUMENT}},
};
// clang-format on

static const DwContent heic = {"HEIC", "image/heic", ".heic", DW_CONTENT_PICTURE};
static const DwContent m4a = {"M4A", "audio/mp4", ".m4a", DW_CONTENT_SOUND};
static const DwContent mp4 = {"M4A", "audio/mp4", ".m4a", DW_CONTENT_SOUND, true};
static const DwContent mov = {"MOV", "video/quicktime", ".mov", DW_CONTENT_SOUND, true};
static const DwContent mp3 = {"MP3", "audio/mpeg", ".mp3", DW_CONTENT_SOUND};
static const DwContent aac = {"AAC", "audio/aac", ".aac", DW_CONTENT_SOUND};

static bool matches(const Signature *signature, const char *bytes, size_t length)
{
    if (length < signature->first_length || memcmp(bytes, signature->first, signature->first_length) != 0)
        return false;
    if (!signature->second)
        return true;
    size_t second_length = strlen(signature->second);
    return length >= signature->place + second_length &&
           memcmp(bytes + signature->place, signature->second, second_length) == 0;
}

// The family of ISO 14496-12: a box "ftyp" that names the brand.
static const DwContent *of_box(const char *bytes, size_t length)
{
    if (length < 12 || memcmp(bytes + 4, "ftyp", 4) != 0)
        return NULL;
    static const char pictures[][5] = {"heic", "heix", "heim", "heis", "hevc", "mif1", "msf1"};
    static const char sounds[][5] = {"M4A ", "M4B ", "mp41", "mp42", "isom", "iso2", "3gp4", "3gp5", "3gp6", "dash"};
    for (size_t i = 0; i < sizeof pictures / sizeof *pictures; i++)
        if (memcmp(bytes + 8, pictures[i], 4) == 0)
            return &heic;
    for (size_t i = 0; i < sizeof sounds / sizeof *sounds; i++)
        if (memcmp(bytes + 8, sounds[i], 4) == 0)
            return i < 2 ? &m4a : &mp4;
    return memcmp(bytes + 8, "qt  ", 4) == 0 ? &mov : NULL;
}

// A stream of MPEG frames has no head of its own: eleven bits are set, then come
// the version, the layer, the bit rate and the sample rate, of which some are no values.
static const DwContent *of_frame(const unsigned char *bytes, size_t length)
{
    if (length < 4 || bytes[0] != 0xFF || (bytes[1] & 0xE0) != 0xE0)
        return NULL;
    unsigned version = bytes[1] >> 3 & 3, layer = bytes[1] >> 1 & 3;
    if ((bytes[1] & 0xF6) == 0xF0 && (bytes[2] >> 2 & 15) < 13)
        return &aac;
    bool sound = version != 1 && layer == 1 && bytes[2] >> 4 != 0 && bytes[2] >> 4 != 15 && (bytes[2] >> 2 & 3) != 3;
    return sound ? &mp3 : NULL;
}

const DwContent *dw_content_of(const void *bytes, size_t length)
{
    for (size_t i = 0; i < sizeof signatures / sizeof *signatures; i++)
        if (matches(&signatures[i], bytes, length))
            return &signatures[i].content;
    const DwContent *content = of_box(bytes, length);
    return content ? content : of_frame(bytes, length);
}

const DwContent *dw_content_of_file(const char *path)
{
    FILE *file = fopen(path, "re");
    if (!file)
        return NULL;
    char bytes[DW_CONTENT_BYTES];
    size_t length = fread(bytes, 1, sizeof bytes, file);
    fclose(file);
    return dw_content_of(bytes, length);
}
