//! Several stations and the hub where they meet, on real PostgreSQL servers that the tests start.

mod courier;
mod granted;
mod lead;
mod model;
mod owner;
mod partitions;
mod passing;
mod prepare;
mod replaced;
mod servers;
mod shared;
mod shop;
mod stations;
mod trust;
mod whole;
