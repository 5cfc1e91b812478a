/** The pictures under a yard's drawing, such as a survey or a photo from above, and how each lies. */

import { api, form, got, type Schemas } from "../api/client.ts";

export type Picture = Schemas["Image"] & { readonly pixels: readonly [width: number, height: number] };

export class Pictures {
  all = $state.raw<readonly Picture[]>([]);

  constructor(private readonly yard: string) {}

  /** Errors: Refused. */
  async load(): Promise<void> {
    const params = { path: { yard: this.yard } };
    const images = await got(api.GET("/api/yards/{yard}/images", { params }));
    this.all = await Promise.all(images.map((one) => this.sized(one as Schemas["Image"])));
  }

  address(picture: Picture): string {
    return `api/yards/${this.yard}/images/${picture.id}`;
  }

  /** Keep a file, laid as `lying` says by its size in pixels. Errors: Refused, such as for a file that is no picture. */
  async add(file: File, lying: (pixels: Picture["pixels"]) => Schemas["Placement"]): Promise<void> {
    const request = {
      params: { path: { yard: this.yard } },
      body: form({ file }) as never,
      bodySerializer: (given: unknown) => given as FormData,
    };
    const image = await got(api.POST("/api/yards/{yard}/images", request));
    let added = await this.sized(image as Schemas["Image"]);
    try {
      added = await this.laid(added, lying(added.pixels));
    } finally {
      this.all = [...this.all, added];
    }
  }

  async lay(picture: Picture, placement: Schemas["Placement"]): Promise<void> {
    const laid = await this.laid(picture, placement);
    this.all = this.all.map((one) => (one.id === picture.id ? laid : one));
  }

  async remove(picture: Picture): Promise<void> {
    const params = { path: { yard: this.yard, image: picture.id } };
    await got(api.DELETE("/api/yards/{yard}/images/{image}", { params }));
    this.all = this.all.filter((one) => one.id !== picture.id);
  }

  private async laid(picture: Picture, placement: Schemas["Placement"]): Promise<Picture> {
    const params = { path: { yard: this.yard, image: picture.id } };
    const kept = await got(api.PUT("/api/yards/{yard}/images/{image}/placement", { params, body: placement }));
    return { ...picture, placement: (kept as Schemas["Image"]).placement };
  }

  private async sized(image: Schemas["Image"]): Promise<Picture> {
    const shown = new Image();
    shown.src = `api/yards/${this.yard}/images/${image.id}`;
    await shown.decode().catch(() => undefined);
    return { ...image, pixels: [shown.naturalWidth || 1, shown.naturalHeight || 1] };
  }
}
