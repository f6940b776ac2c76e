#include "ui/shot.h"

#include <cairo.h>

enum err
shot_save(const struct paint_picture *p, const char *path, struct message *why)
{
    int stride = p->width_px * 4; /* cairo wants a multiple of 4: it is */
    cairo_surface_t *s = cairo_image_surface_create_for_data((unsigned char *) p->pixel, CAIRO_FORMAT_RGB24,
                                                             p->width_px, p->height_px, stride);
    cairo_status_t status = cairo_surface_status(s);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_write_to_png(s, path);
    cairo_surface_destroy(s);
    if (status == CAIRO_STATUS_SUCCESS)
        return ERR_OK;
    message_tell(why, MESSAGE_SHOT_NOT_WRITTEN, message_path(path), cairo_status_to_string(status));
    return ERR_OS;
}
