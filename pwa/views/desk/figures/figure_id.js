// The record id of a site's own figure: made from where the figure stands, so that two managers meet in one record.

import { idOfName } from '../../name_id.js';

/** @param {string} site @param {{table: string, row: string, figure: string}} where @returns {Promise<string>} */
export const figureId = (site, { table, row, figure }) =>
  idOfName(site, `spanwalk:figure:${[table, row, figure].join('/')}`);
