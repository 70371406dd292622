# Share of lean episodes of 6 s and more that were found, by strength, with
# 95 % intervals (Wilson 1927, from memory). Called by scripts/score with
# `data` and `picture` set.
set terminal svg size 640,400 font "sans-serif,13"
set output picture
set xlabel "mixture, percent lean"
set ylabel "episodes found, percent"
set xrange [3:15]
set yrange [0:105]
set grid ytics lc rgb "#dddddd"
set key off
z = 1.96
p(n, k) = n > 0 ? k / n : NaN
middle(n, k) = n > 0 ? (p(n, k) + z**2 / (2 * n)) / (1 + z**2 / n) : NaN
half(n, k) = n > 0 ? z / (1 + z**2 / n) * sqrt(p(n, k) * (1 - p(n, k)) / n + z**2 / (4 * n**2)) : NaN
plot data using 1:(100 * middle($2, $3)):(100 * half($2, $3)) with yerrorbars \
         pointtype 7 pointsize 0 linewidth 1.5 linecolor rgb "#999999", \
     data using 1:(100 * p($2, $3)) with points pointtype 7 pointsize 0.8 \
         linecolor rgb "#0072B2", \
     data using 1:(100 * p($2, $3)):2 with labels offset 0,-1.2 font ",10"
