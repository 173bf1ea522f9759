/** What a viewer may do with a sheet; also what a server that hands it out should say. */
export const SHEET_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:";
