//! What happens on site: cure logs, stations, plots, and the length of liner to order.

mod cure_band;
mod cure_figures;
mod cure_order;
mod liner_length;
mod plots;
mod sample;
mod stations;
