# Mixed models of sensory scores, fitted by an independent program.
#
# Makes
#   score_data.csv     set, taster, water, round, position, previous, value (0: not known, or none)
#   score_models.json  for each set and model: variances, means, F tests, differences
#
# Sets (numbers only; the names of products are left out):
#   wine      bitterness of a white wine, 9 judges, 4 treatments, 2 bottles (Randall J. H., 1989,
#             Biometrical J. 31, 781; data set `wine` of package ordinal, column response)
#   tv_*      15 attributes, 8 assessors, 12 products (3 sets x 4 pictures), 2 repeats (data set
#             `TVbo` of package lmerTest); several of these fits are singular
#   ham       liking of dry-cured ham, 81 consumers, 4 products, 2 informations taken as repeats
#             (data set `ham` of package lmerTest)
#   carrots   liking of carrots, 103 consumers, 12 products, once each, 3 scores missing
#             (data set `carrots` of package lmerTest)
#   tv_gaps   tv_Noise with 23 scores left out
#   orders    made up here (seed below): 8 tasters, 6 waters, 2 rounds in orders balanced for
#             carry-over, with effects of place and of the water before; 7 scores left out
#
# Model: value = water (+ place + water before) fixed, taster and, where cups are repeated, taster x
# water random, by REML; Satterthwaite degrees of freedom. Places and waters before are coded as
# deviations from their means, a first cup having none before it.
#
# Versions: R 4.2.2, lme4 1.1-31, lmerTest 3.1-3, ordinal 2022.11-16, jsonlite 1.8.4.
# Run again: Rscript score_models.R

suppressMessages({library(lme4); library(lmerTest); library(ordinal); library(jsonlite)})

number <- function(f) as.integer(factor(f))
rows <- function(set, taster, water, round, value, position = 0, previous = 0)
  data.frame(set, taster = number(taster), water = number(water), round = as.integer(round),
             position, previous, value)

data(wine); data(TVbo); data(ham); data(carrots)
sets <- list()
sets$wine <- rows("wine", wine$judge, interaction(wine$temp, wine$contact),
                  2 - as.integer(wine$bottle) %% 2, wine$response)
product <- interaction(TVbo$TVset, TVbo$Picture)
for (a in names(TVbo)[5:19])
  sets[[paste0("tv_", a)]] <- rows(paste0("tv_", a), TVbo$Assessor, product, TVbo$Repeat, TVbo[[a]])
sets$ham <- rows("ham", ham$Consumer, ham$Product, ham$Information, ham$Informed.liking)
sets$carrots <- rows("carrots", carrots$Consumer, carrots$Product, 1, carrots$Preference)
sets$carrots <- subset(sets$carrots, !is.na(value))
set.seed(4711)
sets$tv_gaps <- sets$tv_Noise[-sample(192, 23), ]
sets$tv_gaps$set <- "tv_gaps"

first <- c(0, 1, 5, 2, 4, 3)
made <- do.call(rbind, lapply(1:8, function(t) do.call(rbind, lapply(1:2, function(r) {
  row <- (first + t + 3 * r) %% 6 + 1
  data.frame(taster = t, water = row, round = r, position = 1:6, previous = c(0, row[-6]))
}))))
water <- c(5, 5.4, 6.1, 4.2, 5.9, 6.6); place <- c(.6, .2, 0, -.1, -.3, -.4)
carry <- c(.3, -.2, .1, 0, -.4, .2)
taster <- rnorm(8, 0, .9); both <- matrix(rnorm(48, 0, .5), 8)
made$value <- round(water[made$water] + place[made$position] +
  ifelse(made$previous > 0, carry[pmax(made$previous, 1)], 0) +
  taster[made$taster] + both[cbind(made$taster, made$water)] + rnorm(96, 0, .7), 1)
sets$orders <- cbind(set = "orders", made)[-sample(96, 7), ]

coded <- function(level, levels, prefix) {
  last <- levels[length(levels)]
  out <- sapply(levels[-length(levels)], function(l) (level == l) - (level == last))
  colnames(out) <- paste0(prefix, seq_len(ncol(out)))
  out
}

analyse <- function(name, d, extras) {
  d$W <- factor(d$water); d$T <- factor(d$taster); d$TW <- interaction(d$T, d$W, drop = TRUE)
  repeated <- any(table(d$TW) > 1)
  formula <- "value ~ 0 + W"; blocks <- list()
  if ("order" %in% extras) {
    m <- coded(d$position, sort(unique(d$position)), "P"); d <- cbind(d, m)
    blocks$order <- colnames(m)
  }
  if ("carry_over" %in% extras) {
    m <- coded(d$previous, setdiff(sort(unique(d$previous)), 0), "C"); d <- cbind(d, m)
    blocks$carry_over <- colnames(m)
  }
  formula <- paste(c(formula, unlist(blocks)), collapse = " + ")
  formula <- paste(formula, "+ (1 | T)", if (repeated) "+ (1 | TW)" else "")
  fit <- suppressMessages(lmer(as.formula(formula), d, REML = TRUE, control = lmerControl(
    optimizer = "bobyqa", optCtrl = list(rhobeg = 0.02, rhoend = 2e-9, maxfun = 100000))))
  names <- names(fixef(fit)); k <- nlevels(d$W)
  unit <- function(i) as.numeric(seq_along(names) == i)
  tested <- function(rows) {
    f <- contestMD(fit, rows)
    list(f = f[["F value"]], df = f[["NumDF"]], df_noise = f[["DenDF"]], p = f[["Pr(>F)"]])
  }
  means <- do.call(rbind, lapply(1:k, function(i) contest1D(fit, unit(i), confint = TRUE)))
  pairs <- do.call(rbind, lapply(1:(k - 1), function(i) do.call(rbind, lapply((i + 1):k, function(j) {
    e <- contest1D(fit, unit(i) - unit(j))
    t <- abs(e$Estimate) / e[["Std. Error"]]
    data.frame(first = i, second = j, estimate = e$Estimate, se = e[["Std. Error"]], df = e$df,
               p = e[["Pr(>|t|)"]], p_tukey = ptukey(t * sqrt(2), k, e$df, lower.tail = FALSE))
  }))))
  pairs$p_holm <- p.adjust(pairs$p, "holm")
  v <- as.data.frame(VarCorr(fit))
  pick <- function(g) if (any(v$grp == g)) v$vcov[v$grp == g] else NULL
  between <- t(sapply(1:(k - 1), function(i) unit(i) - unit(i + 1)))
  c(list(set = name, extras = I(extras), singular = isSingular(fit, tol = 1e-5),
         taster = pick("T"), taster_by_water = pick("TW"), cup = pick("Residual"),
         waters = tested(between),
         means = data.frame(mean = means$Estimate, se = means[["Std. Error"]], df = means$df,
                            lower = means$lower, upper = means$upper),
         pairs = pairs),
    lapply(blocks, function(b) tested(t(sapply(match(b, names), unit)))))
}

models <- lapply(names(sets), function(name) analyse(name, sets[[name]], character(0)))
models <- c(models, list(analyse("orders", sets$orders, "order"),
                         analyse("orders", sets$orders, c("order", "carry_over"))))
here <- dirname(sub("--file=", "", grep("--file=", commandArgs(FALSE), value = TRUE)))
write.csv(do.call(rbind, sets), file.path(here, "score_data.csv"), row.names = FALSE, quote = FALSE)
write(toJSON(models, digits = 12, auto_unbox = TRUE, dataframe = "columns"),
      file.path(here, "score_models.json"))
