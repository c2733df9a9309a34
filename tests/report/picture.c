// SPDX-License-Identifier: MIT
// Pictures as papers and pages show them: size, orientation, what is refused.
#include "report/picture.h"

#include "base/memory.h"
#include "chart/draw/sketch.h"
#include "chart/draw/whole_file.h"
#include "report/picture_essence.h"
#include "support/suite.h"

#include <gdk-pixbuf/gdk-pixbuf.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

START_TEST(pictures_are_made_smaller)
{
    char path[] = "/tmp/deckwright-picture-XXXXXX", *bytes;
    size_t length;
    close(mkstemp(path));
    ck_assert_int_eq(dw_sketch_draw(DW_SKETCH_DECK, true, 3, &bytes, &length, NULL), DW_OK);
    ck_assert_int_eq(dw_whole_file_write(path, bytes, length, NULL), DW_OK);
    free(bytes);
    DwPicture *picture;
    ck_assert_int_eq(dw_picture_read(path, 400, 0, &picture, NULL), DW_OK);
    // 1200 by 900 as it was drawn.
    ck_assert_double_eq(picture->width, 400);
    ck_assert_double_eq(picture->height, 300);
    dw_picture_free(picture);
    DwMessage message;
    ck_assert_int_eq(dw_whole_file_write(path, "no picture", 10, NULL), DW_OK);
    ck_assert_int_eq(dw_picture_read(path, 400, 0, &picture, &message), DW_BAD_INPUT);
    ck_assert_ptr_nonnull(strstr(message.text, "no picture that can be shown"));
    unlink(path);
}
END_TEST

// A photograph of WIDTH by HEIGHT, red above and blue below, held as EXIF's ORIENTATION says.
// Source (published): JEITA CP-3451, tag 0x0112, from memory: 6 is turned a quarter, 3 upside down.
static char *write_held_photo(int width, int height, unsigned char orientation)
{
    GdkPixbuf *pixels = gdk_pixbuf_new(GDK_COLORSPACE_RGB, FALSE, 8, width, height);
    gdk_pixbuf_fill(pixels, 0xff0000ff);
    GdkPixbuf *lower = gdk_pixbuf_new_subpixbuf(pixels, 0, height / 2, width, height / 2);
    gdk_pixbuf_fill(lower, 0x0000ffff);
    gchar *bytes = NULL;
    gsize length = 0;
    ck_assert(gdk_pixbuf_save_to_buffer(pixels, &bytes, &length, "jpeg", NULL, NULL));
    const unsigned char exif[] = {0xff, 0xe1, 0, 34, 'E', 'x',         'i', 'f', 0,    0,    'M', 'M',
                                  0,    42,   0, 0,  0,   8,           0,   1,   0x01, 0x12, 0,   3,
                                  0,    0,    0, 1,  0,   orientation, 0,   0,   0,    0,    0,   0};
    char *path = dw_memory_text(P_tmpdir "/deckwright-held-XXXXXX");
    FILE *file = fdopen(mkstemp(path), "wb");
    fwrite(bytes, 1, 2, file); // the start of the image, then EXIF, then the rest
    fwrite(exif, 1, sizeof exif, file);
    fwrite(bytes + 2, 1, length - 2, file);
    ck_assert_int_eq(fclose(file), 0);
    g_free(bytes);
    g_object_unref(lower);
    g_object_unref(pixels);
    return path;
}

// Which of red and blue is at a place of PICTURE, given as shares of its sides.
static char colour_at(const DwPicture *picture, double across, double down)
{
    int x = (int)(across * picture->width), y = (int)(down * picture->height);
    const unsigned char *row =
        cairo_image_surface_get_data(picture->surface) + y * cairo_image_surface_get_stride(picture->surface);
    uint32_t pixel = ((const uint32_t *)(const void *)row)[x];
    return (pixel >> 16 & 255) > (pixel & 255) ? 'r' : 'b';
}

START_TEST(photographs_stand_as_they_were_held)
{
    static const struct {
        int width, height; // of the file: one that is kept as it is, one that is made smaller
        unsigned char orientation;
        int shown_width, shown_height;
        const char *corners; // upper left, upper right, lower left, lower right
    } cases[] = {
        {80, 60, 1, 80, 60, "rrbb"},       {80, 60, 3, 80, 60, "bbrr"},       {80, 60, 6, 60, 80, "brbr"},
        {80, 60, 8, 60, 80, "rbrb"},       {1600, 1200, 1, 400, 300, "rrbb"}, {1600, 1200, 3, 400, 300, "bbrr"},
        {1600, 1200, 6, 300, 400, "brbr"}, {1600, 1200, 8, 300, 400, "rbrb"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char *path = write_held_photo(cases[i].width, cases[i].height, cases[i].orientation);
        DwPicture *picture = NULL;
        DwMessage message = {""};
        ck_assert_msg(dw_picture_read(path, 400, 0, &picture, &message) == DW_OK, "%s", message.text);
        ck_assert_int_eq((int)picture->width, cases[i].shown_width);
        ck_assert_int_eq((int)picture->height, cases[i].shown_height);
        const double places[4][2] = {{0.1, 0.1}, {0.9, 0.1}, {0.1, 0.9}, {0.9, 0.9}};
        for (size_t c = 0; c < 4; c++)
            ck_assert_msg(colour_at(picture, places[c][0], places[c][1]) == cases[i].corners[c], "case %zu corner %zu",
                          i, c);
        dw_picture_free(picture);
        // The same as a browser is given it.
        DwPictureCopy copy;
        ck_assert_msg(dw_picture_copy(path, 400, 0, &copy, &message) == DW_OK, "%s", message.text);
        ck_assert_int_eq(copy.width, (cases[i].orientation > 4) ? cases[i].height : cases[i].width);
        ck_assert_str_eq(copy.type, "image/jpeg");
        ck_assert_ptr_null(memmem(copy.bytes, copy.length, "Exif", 4));
        free(copy.bytes);
        unlink(path);
        free(path);
    }
}
END_TEST

// Quarter turns clockwise: what was above stands at the right, below, at the left.
START_TEST(turns_are_clockwise)
{
    static const char *const corners[] = {"rrbb", "brbr", "bbrr", "rbrb"};
    char *path = write_held_photo(80, 60, 1);
    for (int turn = 0; turn < 4; turn++) {
        DwPicture *picture = NULL;
        ck_assert_int_eq(dw_picture_read(path, 400, turn, &picture, NULL), DW_OK);
        ck_assert_int_eq((int)picture->width, turn % 2 ? 60 : 80);
        const double places[4][2] = {{0.1, 0.1}, {0.9, 0.1}, {0.1, 0.9}, {0.9, 0.9}};
        for (size_t c = 0; c < 4; c++)
            ck_assert_msg(colour_at(picture, places[c][0], places[c][1]) == corners[turn][c], "turn %d corner %zu",
                          turn, c);
        dw_picture_free(picture);
    }
    unlink(path);
    free(path);
}
END_TEST

static void expect_refused(const char *bytes, size_t length, const char *words)
{
    char path[] = "/tmp/deckwright-picture-XXXXXX";
    close(mkstemp(path));
    ck_assert_int_eq(dw_whole_file_write(path, bytes, length, NULL), DW_OK);
    DwPictureCopy copy;
    DwMessage message = {""};
    ck_assert_int_eq(dw_picture_copy(path, 400, 0, &copy, &message), DW_BAD_INPUT);
    ck_assert_msg(strstr(message.text, words), "%s", message.text);
    unlink(path);
}

START_TEST(what_is_no_whole_picture_is_refused)
{
    char *bytes;
    size_t length;
    ck_assert_int_eq(dw_sketch_draw(DW_SKETCH_DECK, true, 3, &bytes, &length, NULL), DW_OK);
    expect_refused(bytes, length / 2, "cut off");
    // Source (published): the head claims 20000 by 20000 pixels (W3C, Portable Network Graphics, 11.2.2 IHDR
    // and annex D for its checksum; from memory).
    memcpy(bytes + 16, "\0\0\x4e\x20\0\0\x4e\x20", 8);
    guint32 check = 0xffffffff;
    for (size_t i = 12; i < 29; i++) {
        check ^= (unsigned char)bytes[i];
        for (int bit = 0; bit < 8; bit++)
            check = check & 1 ? check >> 1 ^ 0xedb88320u : check >> 1;
    }
    check = GUINT32_TO_BE(~check);
    memcpy(bytes + 29, &check, 4);
    expect_refused(bytes, length, "20000 × 20000");
    free(bytes);
    gchar *photo;
    char *path = write_held_photo(1600, 1200, 1);
    ck_assert(g_file_get_contents(path, &photo, &length, NULL));
    expect_refused(photo, length * 2 / 3, "cut off");
    expect_refused(photo, 20, "cut off");
    g_free(photo);
    unlink(path);
    free(path);
    expect_refused("<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'/>", 62,
                   "no picture that can be shown");
    expect_refused("", 0, "no picture that can be shown");
}
END_TEST

// Writes PART COUNT times behind the first AFTER bytes of the file at PATH.
static void stuff(const char *path, size_t after, const unsigned char *part, size_t part_length, size_t count)
{
    char *bytes;
    size_t length;
    ck_assert(g_file_get_contents(path, &bytes, &length, NULL));
    FILE *file = fopen(path, "wb");
    fwrite(bytes, 1, after, file);
    for (size_t i = 0; i < count; i++)
        fwrite(part, 1, part_length, file);
    fwrite(bytes + after, 1, length - after, file);
    ck_assert_int_eq(fclose(file), 0);
    g_free(bytes);
}

static bool count_bytes(void *user, const unsigned char *bytes, size_t length)
{
    (void)bytes;
    *(size_t *)user += length;
    return true;
}

// Bytes of the file at PATH that a decoder sees.
static size_t essence_of(const char *path, bool *fine)
{
    FILE *file = fopen(path, "rb");
    size_t seen = 0;
    *fine = dw_picture_essence(file, count_bytes, &seen);
    fclose(file);
    return seen;
}

// Texts of a PNG: plain, and packed so that each of a few kB becomes eight million
// bytes. The check after each part is wrong, which only who reads it can find.
START_TEST(texts_of_a_png_reach_no_decoder)
{
    enum { HEAD = 8 + 25 }; // the mark and the size
    char path[] = "/tmp/deckwright-picture-XXXXXX", *bytes;
    size_t length;
    bool fine;
    close(mkstemp(path));
    ck_assert_int_eq(dw_sketch_draw(DW_SKETCH_DECK, true, 3, &bytes, &length, NULL), DW_OK);
    ck_assert_int_eq(dw_whole_file_write(path, bytes, length, NULL), DW_OK);
    free(bytes);
    size_t before = essence_of(path, &fine);
    ck_assert(fine);
    static const unsigned char text[] = {0, 0, 0, 3, 't', 'E', 'X', 't', 'k', 0, 'v', 1, 2, 3, 4};
    static const unsigned char packed[] = {0, 0, 0, 5, 'z', 'T', 'X', 't', 'k', 0, 0, 0x78, 0xDA, 1, 2, 3, 4};
    stuff(path, HEAD, text, sizeof text, 200000);
    stuff(path, HEAD, packed, sizeof packed, 1000);
    ck_assert_uint_eq(essence_of(path, &fine), before);
    ck_assert(fine);
    DwPictureCopy copy;
    ck_assert_int_eq(dw_picture_copy(path, 400, 0, &copy, NULL), DW_OK);
    free(copy.bytes);
    // Of what a decoder must see no program writes as many.
    static const unsigned char colours[] = {0, 0, 0, 3, 'P', 'L', 'T', 'E', 1, 2, 3, 1, 2, 3, 4};
    stuff(path, HEAD, colours, sizeof colours, 1001);
    essence_of(path, &fine);
    ck_assert(!fine);
    ck_assert_int_eq(dw_picture_copy(path, 400, 0, &copy, NULL), DW_BAD_INPUT);
    unlink(path);
}
END_TEST

START_TEST(what_is_added_to_a_jpeg_reaches_no_decoder)
{
    static const unsigned char comment[] = {0xFF, 0xFE, 0, 4, 'a', 'b'};
    static const unsigned char profile[] = {0xFF, 0xE2, 0, 6, 'I', 'C', 'C', '_'};
    static const unsigned char exif[] = {0xFF, 0xE1, 0, 8, 'E', 'x', 'i', 'f', 0, 0};
    char *path = write_held_photo(80, 60, 6);
    bool fine;
    size_t before = essence_of(path, &fine);
    ck_assert(fine);
    ck_assert_uint_gt(before, 400);
    stuff(path, 2 + 36, comment, sizeof comment, 200000);
    stuff(path, 2 + 36, profile, sizeof profile, 200000);
    stuff(path, 2 + 36, exif, sizeof exif, 200000);
    ck_assert_uint_eq(essence_of(path, &fine), before);
    ck_assert(fine);
    DwPicture *picture = NULL;
    ck_assert_int_eq(dw_picture_read(path, 400, 0, &picture, NULL), DW_OK);
    ck_assert_int_eq((int)picture->width, 60); // how it was held is known all the same
    dw_picture_free(picture);
    static const unsigned char restart[] = {0xFF, 0xDD, 0, 4, 0, 0};
    stuff(path, 2 + 36, restart, sizeof restart, 1001);
    essence_of(path, &fine);
    ck_assert(!fine);
    ck_assert_int_eq(dw_picture_read(path, 400, 0, &picture, NULL), DW_BAD_INPUT);
    unlink(path);
    free(path);
}
END_TEST

DW_SUITE("picture", pictures_are_made_smaller, photographs_stand_as_they_were_held, turns_are_clockwise,
         what_is_no_whole_picture_is_refused, texts_of_a_png_reach_no_decoder,
         what_is_added_to_a_jpeg_reaches_no_decoder)
