"""Every figure of the golden build's report, worked out by hand.

Prices, charges and landed costs are facts, so they are rounded to the cent. Averages,
converted costs and values on hand stay exact fractions: the decimals in the comments are
cut short with "..", and only the figure shown is rounded (half up).

Where an amount is split, each part is cut down to the cent and the cents that are missing go
to the largest remainders (shown in brackets, in cents), ties to the earlier line.


PRICES AND LANDED COSTS

Purchase 1, received, paid by Ada. Lot 435.00, no split stated; all three have a retail price,
so by retail value = usable quantity x new quantity per one x new price, without tax:
  Barn board    300 ft x 80 % = 240 usable    240 x 1 x 2.00 = 480.00
  Window sash     4 (only price: later)         4 x 2 x 45.00 = 360.00
  Carved panel    1 (price weighs here)         1 x 1 x 90.00 =  90.00   together 930.00
  board  435 x 480/930 = 224.5161..  -> 224.51 (.61)
  sash   435 x 360/930 = 168.3870..  -> 168.38 (.70)  + 0.01 = 168.39
  panel  435 x  90/930 =  42.0967..  ->  42.09 (.67)  + 0.01 =  42.10
  cut down 434.98, two cents missing: to sash and panel. (Rounding each would give 435.01.)
Buyer's premium 10 % on price: 43.50, by price 224.51 : 168.39 : 42.10
  22.451 -> 22.45 (.1)    16.839 -> 16.83 (.9) + 0.01 = 16.84    4.210 -> 4.21 (.0)
Sales tax 8 % on price and charges: (435.00 + 43.50) x 0.08 = 38.28 = 0.088 x 435.00
  19.75688 -> 19.75 (.688) + 0.01 = 19.76
  14.81832 -> 14.81 (.832) + 0.01 = 14.82
   3.7048  ->  3.70 (.48)                          cut down 38.26, two cents missing
Landed: board 224.51 + 22.45 + 19.76 = 266.72
        sash  168.39 + 16.84 + 14.82 = 200.05
        panel  42.10 +  4.21 +  3.70 =  50.01      together 516.78

Purchase 2, received, paid by Ben. Lot 150.00 by weight 300 : 150 : 50 of 500
  joist 90.00    stud 45.00    hinge 15.00
Hire 25.00 equally: 8.333.. each -> 8.33 x 3 = 24.99, tie, the cent to the first line
  joist  8.34    stud  8.33    hinge  8.33
Disposal 10.00 by weight
  joist  6.00    stud  3.00    hinge  1.00
Landed: joist 104.34, stud 56.33, hinge 24.33      together 185.00
Usable: joist 10 x 12 ft = 120 ft x 75 % = 90 ft, stud 10 x 90 % = 9, hinge 20 x 90 % = 18

Purchase 3, received, paid by Ada. Free: brick 0.00, board 0.00.
Haulage 44 mi x 0.50 = 22.00, by price; all prices 0, so by retail value:
  brick 400 x 85 % = 340 usable x 0.60 = 204.00
  board  60 x 80 % =  48 usable x 2.00 =  96.00      together 300.00
  brick 22 x 204/300 = 14.96    board 22 x 96/300 = 7.04
Landed: brick 14.96, board 7.04                      together 22.00

Purchase 4, state blank = received, paid by Ben. Lime wash 5 gal x 24.00 = 120.00,
screws 2 boxes x 25.50 = 51.00 (10 lb); price 171.00.
Discount 10 % on price: -17.10, by price: lime -12.00, screws -5.10
Sales tax 8 % on price and charges: (171.00 - 17.10) x 0.08 = 12.312 -> 12.31, by price
  lime 12.31 x 120/171 = 8.6385.. -> 8.63 (.85) + 0.01 = 8.64
  screws 12.31 x 51/171 = 3.6714.. -> 3.67 (.14)
Landed: lime 120 - 12 + 8.64 = 116.64, screws 51 - 5.10 + 3.67 = 49.57    together 166.21

Purchase 5 is an offer, 6 is declined: neither changes any figure.

Purchase 7, ordered (named payer Ben, but nothing is paid out yet).
Brick 150 x 0.40 = 60.00, haulage 15.00: landed 75.00; usable 150 x 90 % = 135 on order.

Purchase 8, received, paid by Ada. Lime wash 10 gal x 8.00 = 80.00, discount -5.00,
sales tax 8 % on price (not on what the discount left): 6.40. Landed 81.40.
Usable 10 x 95 % = 9.5 gal.

Purchase 9, received, nobody as payer. Roof sheet 98.00; brick 70 x 0.3035 = 21.245
-> 21.25 (half up). Haulage 12.00 by quantity 14 : 70 -> 2.00 and 10.00.
Landed: sheet 100.00, brick 31.25                    together 131.25

Purchase 10, received, paid by Ada. Stud 6 x 5.40 = 32.40, sales tax 8 % = 2.592 -> 2.59.
Landed 34.99.

Purchase 11, received, paid by Ben. Lot 75.25 equally over sheet and screws: 37.625 each
-> 37.62 each, tie, the cent to the first: sheet 37.63, screws 37.62.
The lime wash has a price of its own, 9.00, and stands outside the lot.
Other charge 14.00 by retail value over all three lines:
  sheet 6 x 22.00 = 132.00    screws 5 x 5.00 = 25.00    lime 2 x 24.00 = 48.00   = 205.00
  sheet  14 x 132/205 = 9.0146.. -> 9.01 (.46)
  screws 14 x  25/205 = 1.7073.. -> 1.70 (.73) + 0.01 = 1.71
  lime   14 x  48/205 = 3.2780.. -> 3.27 (.80) + 0.01 = 3.28
Landed: sheet 46.64, screws 39.33, lime 12.28        together 98.25

Landed cost received: 516.78 + 185.00 + 22.00 + 166.21 + 81.40 + 131.25 + 34.99 + 98.25
                    = 1235.88                        ordered: 75.00


CONVERSIONS

1 (2026-05-23, 3.5 h): joist average 104.34 / 90 = 1.15933..; 72 ft of it
  104.34 x 72/90 = 83.472, extra cost 9.00, together 92.472
  by retail value: 12 studs x 5.00 = 60.00, 48 ft batten x 0.75 = 36.00, together 96.00
  studs 92.472 x 60/96 = 57.795    batten 92.472 x 36/96 = 34.677
2 (2026-06-13, 1.25 h): stud average, converted in included:
  (56.33 + 34.99 + 57.795) / (9 + 6 + 12) = 149.115 / 27 = 5.52277..; 6 of them
  149.115 x 6/27 = 33.13666.., extra cost 2.70: 18 braces for 35.83666..
3 (2026-06-20, 2 h): board average (266.72 + 7.04) / (240 + 48) = 273.76 / 288 = 0.95055..;
  60 ft of it: 273.76 x 60/288 = 57.03333.. into 100 ft batten
Extra cost 9.00 + 2.70 = 11.70; hours 3.5 + 1.25 + 2 = 6.75.


COMPONENTS (retail: in the building x new quantity per one x new price x 1.08)

Barn board    received 240 + 48 = 288; converted out 60; on hand 12 + 8 = 20; scrapped 15
              in building 288 - 60 - 20 - 15 = 193
              cost 273.76 x (288 - 60 - 20)/288 = 273.76 x 208/288 = 197.71555..
              retail 193 x 2.00 x 1.08 = 416.88; savings 219.16444..
              needed 220 x 1.10 = 242 less 288 - 60 - 15 = 213: 29
Batten        converted in 48 + 100 = 148 for 34.677 + 57.03333.. = 91.71033..
              average 0.61966..; on hand 10; in building 138
              cost 91.71033.. x 138/148 = 85.51368..
              retail 138 x 0.75 x 1.08 = 111.78; savings 26.26631..
              needed 130 x 1.05 = 136.5 less 148: 0
Brace         converted in 18 for 35.83666..; average 1.99092..; given away 2; in building 16
              cost 35.83666.. (what is given away stays in the cost)
              retail 16 x 2.50 x 1.08 = 43.20; savings 7.36333..
              needed 16 less 16: 0
Carved panel  1 for 50.01; would not have been bought new: retail 0; savings -50.01
Coarse screw  received 2 x 5 + 5 = 15 lb for 49.57 + 39.33 = 88.90; average 5.92666..
              on hand 1.5; in building 13.5; cost 88.90 x 13.5/15 = 80.01
              retail 13.5 x 5.00 x 1.08 = 72.90; savings -7.11
              needed 14 x 1.05 = 14.7 less 15: 0
Lime wash     received 5 + 9.5 + 2 = 16.5 for 116.64 + 81.40 + 12.28 = 210.32
              average 12.74666..; moved 3 (worth 38.24); in building 13.5
              cost 210.32 - 38.24 = 172.08
              retail 13.5 x 24.00 x 1.08 = 349.92; savings 177.84
              needed 12 x 1.10 = 13.2 less 16.5 - 3 = 13.5: 0
Long joist    received 90; converted out 72; on hand 18; in building 0
              cost 104.34 - 83.472 - 20.868 = 0; retail 0; needed: not known
Old hinge     received 18 for 24.33; average 1.35166..; scrapped 2; in building 16
              cost 24.33; no retail price; needed 20 less 18 - 2 = 16: 4
Paving brick  received 340 + 70 = 410 for 14.96 + 31.25 = 46.21; average 0.11270..
              on hand 25; given away 40; in building 345
              cost 46.21 x (410 - 25)/410 = 46.21 x 385/410 = 43.39231..
              retail 345 x 0.60 x 1.08 = 223.56; savings 180.16768..
              needed 600 x 1.05 = 630 less 410 - 40 + 135 ordered = 505: 125
Roof sheet    received 14 + 6 = 20 for 100.00 + 46.64 = 146.64; average 7.332
              sold 4 for 40.00; in building 16; cost 146.64 - 40.00 = 106.64
              retail 16 x 22.00 x 1.08 = 380.16; savings 273.52; needed 16 less 16: 0
Stud          received 9 + 6 = 15, converted in 12, together 27 for 149.115
              converted out 6; in building 21; cost 149.115 x 21/27 = 115.97833..
              retail 21 x 5.00 x 1.08 = 113.40; savings -2.57833..
              needed 20 x 1.05 = 21 less 21: 0
Window sash   received 4 for 200.05; average 50.0125; in building 4; cost 200.05
              retail 4 x 2 x 45.00 x 1.08 = 388.80; savings 188.75; needed 6 less 4: 2
Wool batt     nothing yet: average not known, cost 0, retail 0; needed 200 x 1.08 = 216

Together, in the building:
  197.71555 + 85.51368 + 35.83666 + 50.01 + 80.01 + 172.08 + 0 + 24.33 + 43.39231 + 106.64
  + 115.97833 + 200.05 + 0 = 1111.55656..
The other way round: landed 1235.88 + extra cost 11.70
  - on hand (19.01111 board + 6.19664 batten + 8.89 screws + 20.868 joist + 2.81768 brick
             = 57.78343)
  - moved 38.24 - sold 40.00 = 1111.55656..
"""

# Landed cost of each line, by purchase number, in the order of its lines.
LANDED: dict[int, list[str]] = {
    1: ["266.72", "200.05", "50.01"],
    2: ["104.34", "56.33", "24.33"],
    3: ["14.96", "7.04"],
    4: ["116.64", "49.57"],
    7: ["75.00"],
    8: ["81.40"],
    9: ["100.00", "31.25"],
    10: ["34.99"],
    11: ["46.64", "39.33", "12.28"],
}
