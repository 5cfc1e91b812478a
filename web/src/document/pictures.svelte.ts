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

  /** Errors: Refused, such as for a file that is no picture. */
  async add(file: File): Promise<Picture> {
    const request = {
      params: { path: { yard: this.yard } },
      body: form({ file }) as never,
      bodySerializer: (given: unknown) => given as FormData,
    };
    const image = await got(api.POST("/api/yards/{yard}/images", request));
    const added = await this.sized(image as Schemas["Image"]);
    this.all = [...this.all, added];
    return added;
  }

  async lay(picture: Picture, placement: Schemas["Placement"]): Promise<void> {
    const params = { path: { yard: this.yard, image: picture.id } };
    const { placement: laid } = (await got(
      api.PUT("/api/yards/{yard}/images/{image}/placement", { params, body: placement }),
    )) as Schemas["Image"];
    this.all = this.all.map((one) => (one.id === picture.id ? { ...one, placement: laid } : one));
  }

  async remove(picture: Picture): Promise<void> {
    const params = { path: { yard: this.yard, image: picture.id } };
    await got(api.DELETE("/api/yards/{yard}/images/{image}", { params }));
    this.all = this.all.filter((one) => one.id !== picture.id);
  }

  private async sized(image: Schemas["Image"]): Promise<Picture> {
    const shown = new Image();
    shown.src = `api/yards/${this.yard}/images/${image.id}`;
    await shown.decode().catch(() => undefined);
    return { ...image, pixels: [shown.naturalWidth || 1, shown.naturalHeight || 1] };
  }
}
