using System.Globalization;
using System.Text.Json.Nodes;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Tests.Reference;

/// <summary>
/// The naive second fold, written from the rules text alone and without a look at the engine. It walks the calendar day by day
/// from the signing to the day asked for, keeps plain lists, and starts from nothing for every question. It is slow on purpose:
/// its only task is to disagree with the engine when one of the two has read the rules wrongly.
/// </summary>
public static class NaiveReference
{
    /// <summary>
    /// One account at the end of <paramref name="on"/> as known at <paramref name="known"/>, or null when it was not signed by
    /// then or the signing was not yet known. The zone is part of the question but no figure depends on it: every date is
    /// already a calendar date of the shop.
    /// </summary>
    public static JsonObject? Account(
        IReadOnlyList<AcceptedCommand> all, string contract, LocalDate on, Instant known, DateTimeZone zone)
    {
        ArgumentNullException.ThrowIfNull(zone);
        return Fold(all, contract, on, known)?.ToJson(contract);
    }

    /// <summary>The fold behind an answer, for what else is made from it.</summary>
    internal static NaiveFold? Fold(IReadOnlyList<AcceptedCommand> all, string contract, LocalDate on, Instant known)
    {
        ArgumentNullException.ThrowIfNull(all);

        var view = all.Where(c => c.RecordedAt <= known).Select(c => new Cmd(c.Command, c.Sequence))
            .Where(c => c.Do == "set-tax" || c.Contract == contract).OrderBy(c => c.Seq).ToList();

        // Some figures are settled once and for all when a command is recorded: what the account looked like on the command's
        // own date, judged by nothing but the commands recorded before it.
        var settled = new Dictionary<long, Settled>();
        foreach (var c in view.Where(c => c.Do is "buy" or "swap" or "report-loss" or "step-up"))
        {
            var before = NaiveFold.Run(view.Where(e => e.Seq < c.Seq).ToList(), c.On, settled);
            if (before is not null)
            {
                var (price, _, tax) = before.EarlyPurchase();
                settled[c.Seq] = new Settled(price, tax, c.Do == "step-up" ? before.StepUpCredit(c) : 0m);
            }
        }

        return NaiveFold.Run(view, on, settled);
    }
}

/// <summary>What was fixed when a buy, a swap, a loss report or a step-up was recorded.</summary>
internal sealed record Settled(decimal Price, decimal Tax, decimal Credit);

/// <summary>A command with the few fields every step needs.</summary>
internal sealed class Cmd(JsonObject json, long seq)
{
    public JsonObject Json { get; } = json;

    public long Seq { get; } = seq;

    public string Do { get; } = (string?)json["do"] ?? "";

    public string Key { get; } = (string?)json["key"] ?? "";

    public string? Contract { get; } = (string?)json["contract"];

    public LocalDate On => Date("on");

    public string Text(string field) => (string?)Json[field] ?? "";

    public decimal Amount(string field) => Read.Number(Json[field]) ?? 0m;

    public LocalDate Date(string field) => LocalDatePattern.Iso.Parse(Text(field)).GetValueOrThrow();
}

/// <summary>Small readers and the one rounding there is.</summary>
internal static class Read
{
    public static decimal? Number(JsonNode? node) =>
        node is null ? null : decimal.Parse(node.ToString(), NumberStyles.Float, CultureInfo.InvariantCulture);

    public static bool Flag(JsonNode? node, bool otherwise) => node is null ? otherwise : (bool)node;

    public static decimal Round(decimal x) => Math.Round(x, 2, MidpointRounding.AwayFromZero);

    public static string Money(decimal x) => x.ToString("0.00", CultureInfo.InvariantCulture);

    public static string Iso(LocalDate d) => LocalDatePattern.Iso.Format(d);
}

/// <summary>One set of terms, as signed or as agreed at an exchange.</summary>
internal sealed class Terms
{
    public Terms(JsonNode? json)
    {
        CashPrice = Read.Number(json?["cashPrice"]) ?? 0m;
        PurchasePrice = Read.Number(json?["purchasePrice"]) ?? 0m;
        IntroMonths = (int)(Read.Number(json?["introductory"]?["months"]) ?? 0m);
        IntroPayment = Read.Number(json?["introductory"]?["payment"]) ?? 0m;
        MonthlyRent = Read.Number(json?["monthlyRent"]) ?? 0m;
        CreditShare = Read.Number(json?["creditShare"]) ?? 1m;
        foreach (var tier in json?["earlyPurchase"]?.AsArray() ?? [])
        {
            Tiers.Add(((int?)Read.Number(tier?["throughMonth"]), Read.Number(tier?["discount"]) ?? 0m));
        }

        PlanMonthly = Read.Number(json?["plan"]?["monthly"]) ?? 0m;
        PlanInIntro = Read.Flag(json?["plan"]?["chargedInIntroductory"], false);
        LateFee = Read.Number(json?["lateFee"]?["amount"]) ?? 0m;
        GraceDays = (int)(Read.Number(json?["lateFee"]?["graceDays"]) ?? 0m);
        ReturnedPaymentFee = Read.Number(json?["returnedPaymentFee"]) ?? 0m;
    }

    public decimal CashPrice { get; }

    public decimal PurchasePrice { get; }

    public int IntroMonths { get; }

    public decimal IntroPayment { get; }

    public decimal MonthlyRent { get; }

    public decimal CreditShare { get; }

    public List<(int? ThroughMonth, decimal Discount)> Tiers { get; } = [];

    public decimal PlanMonthly { get; }

    public bool PlanInIntro { get; }

    public decimal LateFee { get; }

    public int GraceDays { get; }

    public decimal ReturnedPaymentFee { get; }

    public decimal RentToOwn => Read.Round(PurchasePrice / CreditShare);

    /// <summary>How many installments this much rent makes, when an introductory one still leads them or not.</summary>
    public int Count(decimal rent, bool withIntro)
    {
        var count = 0;
        if (withIntro && rent > 0m)
        {
            count++;
            rent -= Math.Min(IntroPayment, rent);
        }

        while (rent > 0m)
        {
            count++;
            rent -= NextRent(rent);
        }

        return count;
    }

    public decimal NextRent(decimal left) => MonthlyRent > 0m ? Math.Min(MonthlyRent, left) : left;
}

/// <summary>Money that came from one source and what is still waiting of it.</summary>
internal sealed class Lot(LocalDate on, long seq, string key, bool goodwill, decimal amount)
{
    public LocalDate On { get; } = on;

    public long Seq { get; } = seq;

    public string Key { get; } = key;

    public bool Goodwill { get; } = goodwill;

    public decimal Waiting { get; set; } = amount;

    public decimal Refunded { get; set; }
}

/// <summary>One charge part and which lots paid how much of it.</summary>
internal sealed class Item
{
    public required int Group { get; init; }

    public required LocalDate DueOn { get; init; }

    public int Rank { get; init; }

    public long Seq { get; init; }

    public int PartRank { get; init; }

    public required string Kind { get; init; }

    public required string Part { get; init; }

    public string? FeeId { get; init; }

    public required decimal Charged { get; init; }

    /// <summary>Of a tax: the place and the day whose entry it was taken under.</summary>
    public string Place { get; init; } = "";

    public LocalDate TaxedOn { get; init; }

    public Terms? Under { get; init; }

    public List<(Lot Lot, decimal Amount)> PaidBy { get; } = [];

    public decimal Open => Charged - PaidBy.Sum(p => p.Amount);

    public decimal MoneyPaid => PaidBy.Where(p => !p.Lot.Goodwill).Sum(p => p.Amount);

    public bool TakesGoodwill =>
        Kind is not ("loss" or "purchase" or "refund-to-recover") && Part != "rent";
}

/// <summary>An installment that fell due, and the due date after it.</summary>
internal sealed record Installment(LocalDate DueOn, LocalDate Next, Terms Terms, List<Item> Parts, int Number, decimal Rent);

/// <summary>A swap whose outgoing unit is expected back.</summary>
internal sealed record AwaitedUnit(Cmd Swap, string Serial, LocalDate ReturnBy, decimal Fee, Cmd HandedOut, Cmd Named);

/// <summary>How a day ended: the status, the place, the command that named the instrument, and whether a paid loss made the family its owner.</summary>
internal sealed record Evening(LocalDate Day, string Status, string Place, Cmd Named, bool OwnedByLoss);

/// <summary>A write-off (or a recovery, which is negative) and what was open when it came, in the order in which money pays.</summary>
internal sealed record WriteOff(decimal Amount, List<(string Part, decimal Open)> Open);

/// <summary>The account while it is walked through the days.</summary>
internal sealed class NaiveFold
{
    private const int InstallmentGroup = 0;
    private const int AccessoryGroup = 1;
    private const int FeeGroup = 2;
    private const int RecoverGroup = 3;
    private const int PurchaseGroup = 4;

    private readonly List<Cmd> view;
    private readonly Dictionary<long, Settled> settled;
    private LocalDate anchor;
    private readonly bool isOrder;
    private bool undelivered;
    private long delivery;
    private readonly List<Item> items = [];
    private readonly List<Lot> lots = [];
    private readonly List<Installment> installments = [];
    private readonly List<Terms> allTerms = [];
    private readonly List<AwaitedUnit> awaited = [];
    private Cmd handedOut;
    private Cmd named;
    private bool ownedByLoss;
    private HashSet<long> ignored = [];
    private readonly HashSet<long> foreseen = [];
    private readonly HashSet<long> impossible = [];

    private LocalDate today;
    private string status = "signed";
    private bool writtenOff;
    private Terms terms;
    private string kind;
    private string serial;
    private string state;
    private string jurisdiction;
    private bool planElected;

    private decimal rentLeft;
    private bool introAhead;
    private int nextSlot;
    private int shift;

    private decimal carriedOff;
    private decimal carriedEquity;
    private string? boughtBy;
    private Item? loss;

    // The delivery tax in force: its item (none when it came to nothing), its rate, and where in the list of installments it began.
    private (Item? Item, decimal Rate, int Since, string Place, LocalDate Day)? deliveryTax;
    private bool firstTermTaxed;

    private NaiveFold(List<Cmd> view, Cmd sign, Dictionary<long, Settled> settled)
    {
        this.view = view;
        this.settled = settled;
        today = sign.On;
        anchor = sign.Date("startOn");
        isOrder = Read.Flag(sign.Json["startsAtDelivery"], false);
        undelivered = isOrder;
        terms = new Terms(sign.Json["terms"]);
        allTerms.Add(terms);
        kind = (string?)sign.Json["instrument"]?["kind"] ?? "";
        serial = (string?)sign.Json["instrument"]?["serial"] ?? "";
        handedOut = sign;
        named = sign;
        state = sign.Text("state");
        jurisdiction = sign.Text("jurisdiction");
        planElected = Read.Flag(sign.Json["planElected"], false);
        rentLeft = terms.RentToOwn;
        introAhead = terms.IntroMonths > 0;
        // A move on the day of the sale brings its rate.
        ChargeAccessories(sign, view.LastOrDefault(c => c.Do == "move" && c.On == sign.On)?.Text("jurisdiction") ?? jurisdiction);
    }

    /// <summary>The end of every day since the signing.</summary>
    public List<Evening> Evenings { get; } = [];

    /// <summary>Write-offs and recoveries in their order.</summary>
    public List<WriteOff> WriteOffs { get; } = [];

    /// <summary>The credits of step-ups that took effect.</summary>
    public List<decimal> StepUps { get; } = [];

    /// <summary>Merchandise credit that went into sales.</summary>
    public decimal SpentOnSales { get; private set; }

    /// <summary>Merchandise credit that is left: none while more was spent than there is.</summary>
    public decimal MerchandiseLeft => Math.Max(0m, RentCredit(false) - Equity(false) - SpentOnSales);

    /// <summary>Units that a fee gave up and that have not come back since, each with the command that named what it stands for.</summary>
    public List<(string Serial, Cmd Named)> GivenUp { get; } = [];

    public IReadOnlyList<Item> Items => items;

    public IReadOnlyList<Lot> Lots => lots;

    public IReadOnlyList<Installment> Installments => installments;

    public IEnumerable<Cmd> CommandsSoFar => view.Where(c => c.Do is not ("set-tax" or "bill") && c.On <= today);

    /// <summary>Walks from the signing to the end of the given day; null when there is no signing by then.</summary>
    public static NaiveFold? Run(List<Cmd> view, LocalDate until, Dictionary<long, Settled> settled)
    {
        // A command that the day itself made impossible must not have decided what fell due that day: walk again without it.
        var ignored = new HashSet<long>();
        while (true)
        {
            var fold = Run(view, until, settled, ignored);
            if (fold is null || !fold.foreseen.Overlaps(fold.impossible)) { return fold; }
            ignored = [.. ignored, .. fold.foreseen.Intersect(fold.impossible)];
        }
    }

    private static NaiveFold? Run(List<Cmd> view, LocalDate until, Dictionary<long, Settled> settled, HashSet<long> ignored)
    {
        var sign = view.FirstOrDefault(c => c.Do == "sign");
        if (sign is null || sign.On > until)
        {
            return null;
        }

        var fold = new NaiveFold(view, sign, settled) { ignored = ignored };
        var byDay = view.Where(c => c.Do is not ("sign" or "set-tax" or "bill")).OrderBy(c => c.Seq).ToLookup(c => c.On);
        for (var day = sign.On; day <= until; day = day.PlusDays(1))
        {
            fold.Day(day, byDay[day].ToList());
        }

        return fold;
    }

    private void Day(LocalDate day, List<Cmd> commands)
    {
        today = day;
        if (status == "signed" && Begun)
        {
            status = "active";
        }

        // What the end of the day will say about plan and place decides over the whole day.
        var planTonight = planElected;
        var placeTonight = jurisdiction;
        actTonight = state;
        foreach (var c in commands)
        {
            planTonight = c.Do switch { "elect-plan" => true, "cancel-plan" => false, _ => planTonight };
            placeTonight = c.Do == "move" ? c.Text("jurisdiction") : placeTonight;
            actTonight = c.Do == "move" ? c.Text("state") : actTonight;
        }

        var (runs, resumes) = LookAhead(commands);
        if (resumes)
        {
            Resume();
        }

        // 1. the installment
        if (runs && rentLeft > 0m && Due(nextSlot) == day)
        {
            ChargeInstallment(planTonight, placeTonight);
        }

        // 2. late fees, then fees for units that did not come back
        if (runs)
        {
            foreach (var i in installments.Where(i => i.DueOn.PlusDays(i.Terms.GraceDays + 1) == day).ToList())
            {
                if (i.Parts.Any(p => p.Open > 0m))
                {
                    ChargeFee("late", "late:" + Read.Iso(i.DueOn), Capped(i), 0, i.Number, placeTonight);
                }
            }
        }

        foreach (var a in awaited.Where(a => a.ReturnBy.PlusDays(1) == day).ToList())
        {
            ChargeUnreturned(a, placeTonight);
        }

        // 3. waiting money
        Apply();

        // 4. the commands
        foreach (var c in commands)
        {
            Command(c, placeTonight);
            Apply();
        }

        Evenings.Add(new Evening(day, status, jurisdiction, named, ownedByLoss));
    }

    /// <summary>
    /// Reads the day's commands ahead, statuses only: does the contract run today, in the sense that its installment falls due
    /// and a late fee may arise, and does it take up again after an interruption?
    /// </summary>
    private (bool Runs, bool Resumes) LookAhead(List<Cmd> commands)
    {
        var s = status;
        var bought = boughtBy;
        var runs = s == "active";
        var resumes = false;
        foreach (var c in commands)
        {
            if (c.Do == "reverse-payment" && s == "owned" && bought == c.Text("payment"))
            {
                s = Begun ? "active" : "signed";
                bought = null;
                runs = s == "active";
                resumes = runs || !undelivered;
                continue;
            }

            // Of several deliveries the one recorded last is the true one.
            if (c.Do == "deliver" && s == "signed" && c.Seq > delivery && commands.All(other => other.Do != "deliver" || other.Seq <= c.Seq))
            {
                (undelivered, delivery) = (false, c.Seq);
                anchor = c.Json["deliveredOn"] is null ? today : c.Date("deliveredOn");
                s = Begun ? "active" : "signed";
                runs = Begun;
                continue;
            }

            if (!Allowed(c.Do, s) || ignored.Contains(c.Seq))
            {
                continue;
            }

            if (c.Do is "return" or "hold" or "step-up")
            {
                foreseen.Add(c.Seq);
            }

            switch (c.Do)
            {
                case "return":
                    s = Begun ? "returned" : "cancelled";
                    runs = false;
                    break;
                case "hold":
                    s = "on-hold";
                    runs = false;
                    break;
                case "step-up":
                    s = "stepped-up";
                    runs = false;
                    break;
                case "release":
                case "reinstate":
                    s = "active";
                    runs = true;
                    resumes = true;
                    break;
                case "buy":
                    s = "owned";
                    bought = c.Key;
                    break;
                case "report-loss":
                    s = "lost";
                    break;
                default:
                    break;
            }
        }

        return (runs, resumes);
    }

    private static bool Allowed(string what, string s) => what switch
    {
        "return" => s is "signed" or "active" or "on-hold" or "lost",
        "hold" or "exchange" => s is "active",
        "step-up" => s is "active" or "on-hold",
        "release" => s is "on-hold",
        "swap" => s is "signed" or "active" or "on-hold",
        "buy" or "report-loss" => s is "signed" or "active" or "on-hold",
        "reinstate" => s is "returned",
        _ => true,
    };

    private void Command(Cmd c, string placeTonight)
    {
        // Money counts whatever became of the command that brought it.
        if (c.Do is "pay" or "buy" or "credit")
        {
            lots.Add(new Lot(today, c.Seq, c.Key, c.Do == "credit", c.Amount("amount")));
        }

        if (!Allowed(c.Do, status))
        {
            impossible.Add(c.Seq);
            return;
        }

        switch (c.Do)
        {
            case "reverse-payment":
                ReversePayment(c, placeTonight);
                break;
            case "refund":
                Refund(c);
                break;
            case "deliver":
                if (c.Seq != delivery)
                {
                    impossible.Add(c.Seq);
                }
                else if (status == "signed" && Begun)
                {
                    status = "active";
                }

                break;
            case "elect-plan":
                planElected = true;
                break;
            case "cancel-plan":
                planElected = false;
                break;
            case "move":
                state = c.Text("state");
                jurisdiction = c.Text("jurisdiction");
                break;
            case "swap":
                Swap(c, placeTonight);
                break;
            case "receive-unit":
                foreach (var a in awaited.Where(a => a.Serial == c.Text("serial")).ToList())
                {
                    TakeBack("unreturned:" + a.Swap.Key);
                }

                GivenUp.RemoveAll(unit => unit.Serial == c.Text("serial"));
                break;
            case "exchange":
                Exchange(c, placeTonight);
                break;
            case "return":
                if (status == "lost" && loss is not null)
                {
                    TakeBack(loss.FeeId!);
                    loss = null;
                }

                if (isOrder && !Begun)
                {
                    TakeBack(i => i.Kind == "accessories");
                }

                EndTheTaxedTerm(c.Seq);
                status = Begun ? "returned" : "cancelled";
                break;
            case "buy":
                status = "owned";
                ownedByLoss = false;
                boughtBy = c.Key;
                Add(PurchaseGroup, "purchase", "tax", settled[c.Seq].Tax, c.Seq, 0, place: placeTonight);
                Add(PurchaseGroup, "purchase", "price", settled[c.Seq].Price, c.Seq, 1);
                break;
            case "report-loss":
                status = "lost";
                loss = null;
                if (!Waived("loss:" + c.Key))
                {
                    loss = new Item
                    {
                        Group = FeeGroup, DueOn = today, Rank = 2, Seq = c.Seq, PartRank = 1, Kind = "loss", Part = "fee",
                        FeeId = "loss:" + c.Key, Charged = settled[c.Seq].Price,
                    };
                    items.Add(loss);
                }

                break;
            case "waive":
                TakeBack(c.Text("fee"));
                break;
            case "hold":
                status = "on-hold";
                break;
            case "release":
                status = "active";
                Resume();
                break;
            case "reinstate":
                status = "active";
                Resume();
                serial = c.Json["serial"] is null ? serial : c.Text("serial");
                handedOut = c;
                if (deliveryTax is null)
                {
                    TaxTheTerm(placeTonight, c.Seq);
                }

                break;
            case "step-up":
                EndTheTaxedTerm(c.Seq);
                status = "stepped-up";
                StepUps.Add(settled[c.Seq].Credit);
                break;
            case "spend-credit":
                SpentOnSales += c.Amount("amount");
                break;
            case "write-off":
                writtenOff = true;
                WriteOffs.Add(new WriteOff(c.Amount("amount"), InPaymentOrder().Select(i => (i.Part, i.Open)).ToList()));
                break;
            case "recover":
                WriteOffs.Add(new WriteOff(-c.Amount("amount"), []));
                break;
            default:
                break;
        }
    }

    // ---- the schedule ----

    private bool Begun => !undelivered && today >= anchor;

    private LocalDate Due(int slot) => anchor.PlusMonths(slot + shift);

    /// <summary>Whole months by which the schedule must move so that what comes next is not before the given day.</summary>
    private int MonthsToMove(LocalDate day)
    {
        var m = 0;
        while (rentLeft > 0m && anchor.PlusMonths(nextSlot + shift + m) < day)
        {
            m++;
        }

        return m;
    }

    private void Resume() => shift += MonthsToMove(today);

    private (decimal Rent, decimal Plan) NextParts(bool withPlan)
    {
        var rent = introAhead ? Math.Min(terms.IntroPayment, rentLeft) : terms.NextRent(rentLeft);
        var plan = !withPlan ? 0m
            : !introAhead ? terms.PlanMonthly
            : terms.PlanInIntro ? terms.IntroMonths * terms.PlanMonthly
            : 0m;
        return (rent, plan);
    }

    private decimal InstallmentTax(decimal rent, decimal plan, string place, LocalDate date)
    {
        var rate = RateOn(place, date);
        return (rate.Rent && RentIsTaxedAsItFallsDue(rate.Regime) ? Read.Round(rent * rate.Rate) : 0m)
            + (rate.Plan ? Read.Round(plan * rate.Rate) : 0m);
    }

    private bool RentIsTaxedAsItFallsDue(string regime) =>
        deliveryTax is null && (regime == "each-payment" || regime == "whole-price-at-delivery");

    /// <summary>What M80 collects when a term begins on this day with this much rent to come; null where the place does not do that.</summary>
    private decimal? TaxAtDelivery(string place, LocalDate day)
    {
        var rate = RateOn(place, day);
        return rate.Regime == "whole-price-at-delivery" && rate.Rent ? Read.Round(rate.Rate * rentLeft) : null;
    }

    private void TaxTheTerm(string place, long seq)
    {
        if (TaxAtDelivery(place, today) is { } tax)
        {
            deliveryTax = (Add(InstallmentGroup, "delivery-tax", "tax", tax, seq, 0, rank: -1, place: place), RateOn(place, today).Rate, installments.Count, place, today);
        }
    }

    /// <summary>M81: the tax of the whole term is taken back, and the tax of the rents that fell due in it is charged today.</summary>
    private void EndTheTaxedTerm(long seq)
    {
        if (deliveryTax is not { } taken)
        {
            return;
        }

        TakeBack(i => ReferenceEquals(i, taken.Item));
        var rents = installments.Skip(taken.Since).Sum(i => i.Rent);
        Add(InstallmentGroup, "delivery-tax", "tax", Read.Round(rents * taken.Rate), seq, 0, rank: -1, place: taken.Place, taxedOn: taken.Day);
        deliveryTax = null;
    }

    private bool BeginsTheFirstTerm => !firstTermTaxed && installments.Count == 0 && allTerms.Count == 1 && deliveryTax is null;

    private void ChargeInstallment(bool planTonight, string placeTonight)
    {
        if (BeginsTheFirstTerm)
        {
            firstTermTaxed = true;
            TaxTheTerm(placeTonight, 0);
        }

        var (rent, plan) = NextParts(planTonight);
        var parts = new List<Item>();
        var amounts = new[] { ("tax", InstallmentTax(rent, plan, placeTonight, today)), ("rent", rent), ("plan", plan) };
        for (var i = 0; i < amounts.Length; i++)
        {
            if (Add(InstallmentGroup, "installment", amounts[i].Item1, amounts[i].Item2, 0, i, under: terms, place: placeTonight) is { } item)
            {
                parts.Add(item);
            }
        }

        rentLeft -= rent;
        nextSlot += introAhead ? terms.IntroMonths : 1;
        introAhead = false;
        installments.Add(new Installment(today, Due(nextSlot), terms, parts, installments.Count, rent));
    }

    // ---- charges ----

    private Item? Add(
        int group, string itemKind, string part, decimal amount, long seq, int partRank, int rank = 0, string? feeId = null, Terms? under = null,
        string place = "", LocalDate? taxedOn = null)
    {
        if (amount <= 0m)
        {
            return null;
        }

        var item = new Item
        {
            Group = group, DueOn = today, Rank = rank, Seq = seq, PartRank = partRank, Kind = itemKind, Part = part, FeeId = feeId,
            Charged = amount, Under = under, Place = place, TaxedOn = taxedOn ?? today,
        };
        items.Add(item);
        return item;
    }

    private void ChargeAccessories(Cmd c, string place)
    {
        var sum = (c.Json["accessories"]?.AsArray() ?? []).Sum(a => Read.Number(a?["price"]) ?? 0m);
        var rate = RateOn(place, today);
        Add(AccessoryGroup, "accessories", "tax", rate.Sale ? Read.Round(sum * rate.Rate) : 0m, c.Seq, 0, place: place);
        Add(AccessoryGroup, "accessories", "price", sum, c.Seq, 1);
    }

    private void ChargeFee(string itemKind, string id, decimal amount, int rank, long seq, string place)
    {
        if (amount <= 0m || Waived(id))
        {
            return;
        }

        var rate = RateOn(place, today);
        Add(FeeGroup, itemKind, "tax", rate.Fees ? Read.Round(amount * rate.Rate) : 0m, seq, 0, rank, id, place: place);
        Add(FeeGroup, itemKind, "fee", amount, seq, 1, rank, id);
    }

    private void ChargeUnreturned(AwaitedUnit a, string place)
    {
        var back = view.Any(c => c.Do == "receive-unit" && c.Text("serial") == a.Serial && c.On <= a.ReturnBy
            && (c.On > a.HandedOut.On || (c.On == a.HandedOut.On && c.Seq > a.HandedOut.Seq)));
        if (!back)
        {
            ChargeFee("unreturned", "unreturned:" + a.Swap.Key, a.Fee, 1, a.Swap.Seq, place);
            if (items.Any(i => i.FeeId == "unreturned:" + a.Swap.Key))
            {
                GivenUp.Add((a.Serial, a.Named));
            }
        }
    }

    /// <summary>A waiver of an earlier day keeps its fee away for good; one of today comes in its turn.</summary>
    private bool Waived(string id) => view.Any(c => c.Do == "waive" && c.Text("fee") == id && c.On < today);

    /// <summary>Undoes a charge of this id: what was paid on it waits again in the lots it came from.</summary>
    private void TakeBack(string feeId)
    {
        if (loss?.FeeId == feeId)
        {
            loss = null;
        }

        TakeBack(i => i.FeeId == feeId);
    }

    private void TakeBack(Predicate<Item> which)
    {
        foreach (var item in items.FindAll(which))
        {
            foreach (var (lot, amount) in item.PaidBy)
            {
                lot.Waiting += amount;
            }

            items.Remove(item);
        }
    }

    // ---- money ----

    /// <summary>The state whose act the day is under: the day's last move decides, also over what is paid before it.</summary>
    private string actTonight = "";

    /// <summary>The newest payment due comes first under Conn. Gen. Stat. § 42-243(3), the oldest elsewhere (M33).</summary>
    private IEnumerable<Item> InPaymentOrder() => items.OrderBy(i => i.Group)
        .ThenBy(i => i.Group == InstallmentGroup && actTonight == "CT" ? -i.DueOn.DayOfYear - (1000 * i.DueOn.Year) : i.DueOn.DayOfYear + (1000 * i.DueOn.Year))
        .ThenBy(i => i.Rank).ThenBy(i => i.Seq).ThenBy(i => i.PartRank);

    /// <summary>Conn. Gen. Stat. § 42-243(3): the lesser of 5 percent of the payment and 5.00, and at least 1.00; rounded down (M41).</summary>
    private decimal Capped(Installment i) => actTonight == "CT"
        ? Math.Min(i.Terms.LateFee, Math.Floor(Math.Max(Math.Min(i.Rent * 0.05m, 5m), 1m) * 100m) / 100m)
        : i.Terms.LateFee;

    private void Apply()
    {
        var waiting = lots.Where(l => l.Waiting > 0m).OrderBy(l => l.Goodwill ? 0 : 1).ThenBy(l => l.On).ThenBy(l => l.Seq).ToList();
        if (waiting.Count > 0)
        {
            var open = InPaymentOrder().Where(i => i.Open > 0m).ToList();
            foreach (var lot in waiting)
            {
                foreach (var item in open.Where(i => !lot.Goodwill || i.TakesGoodwill))
                {
                    var amount = Math.Min(lot.Waiting, item.Open);
                    if (amount > 0m)
                    {
                        lot.Waiting -= amount;
                        item.PaidBy.Add((lot, amount));
                    }
                }
            }
        }

        var openRent = items.Any(i => i.Part == "rent" && i.Open > 0m);
        var bySchedule = status is "active" or "on-hold" && rentLeft <= 0m && !openRent;
        var byLoss = status == "lost" && loss is { Open: <= 0m } && (loss.Charged > 0m || !openRent);
        var byAct = status is "active" or "on-hold" && state is "HI" or "OH" && HalfOfAllPaid(false) >= terms.CashPrice;
        if (bySchedule || byLoss || byAct)
        {
            status = "owned";
            boughtBy = null;
            ownedByLoss = byLoss;
        }
    }

    /// <summary>Half of the rent paid under the terms in force and of the equity carried into them (Haw. Rev. Stat. § 481M-5(b), Ohio Rev. Code § 1351.06).</summary>
    private decimal HalfOfAllPaid(bool asIfPaid) =>
        (items.Where(i => i.Part == "rent" && i.Under == terms).Sum(i => asIfPaid ? i.Charged : i.MoneyPaid) + carriedEquity) / 2m;

    private void ReversePayment(Cmd c, string placeTonight)
    {
        var lot = lots.Find(l => l.Key == c.Text("payment") && !l.Goodwill);
        if (lot is null)
        {
            return;
        }

        foreach (var item in items)
        {
            item.PaidBy.RemoveAll(p => p.Lot == lot);
        }

        lot.Waiting = 0m;
        Add(RecoverGroup, "refund-to-recover", "fee", lot.Refunded, c.Seq, 0);
        lot.Refunded = 0m;

        if (status == "owned" && boughtBy == lot.Key)
        {
            TakeBack(i => i.Kind == "purchase");
            boughtBy = null;
            status = Begun ? "active" : "signed";
            if (!undelivered)
            {
                Resume();
            }
        }

        if (c.Text("code") != "entry-error")
        {
            ChargeFee("returned", "returned:" + c.Key, terms.ReturnedPaymentFee, 2, c.Seq, placeTonight);
        }
    }

    private void Refund(Cmd c)
    {
        var left = c.Amount("amount");
        foreach (var lot in lots.Where(l => !l.Goodwill).OrderBy(l => l.On).ThenBy(l => l.Seq))
        {
            var amount = Math.Min(left, lot.Waiting);
            lot.Waiting -= amount;
            lot.Refunded += amount;
            left -= amount;
        }

        Add(RecoverGroup, "refund-to-recover", "fee", left, c.Seq, 0);
    }

    // ---- changes of the unit or the agreement ----

    private void Swap(Cmd c, string placeTonight)
    {
        if (c.Json["returnBy"] is not null)
        {
            var unit = new AwaitedUnit(c, serial, c.Date("returnBy"), settled[c.Seq].Price, handedOut, named);
            awaited.Add(unit);
            if (unit.ReturnBy < today)
            {
                ChargeUnreturned(unit, placeTonight);
            }
        }

        serial = c.Text("serial");
        handedOut = c;
    }

    private void Exchange(Cmd c, string placeTonight)
    {
        var next = new Terms(c.Json["terms"]);
        var credit = RentCredit(false);
        var carried = Math.Min(credit - carriedOff, next.PurchasePrice);
        carriedOff = credit - carried;
        carriedEquity = Math.Max(carried, 0m);

        // the slot that follows the day of the exchange in the old schedule
        if (rentLeft > 0m)
        {
            while (Due(nextSlot) <= today)
            {
                nextSlot += introAhead ? terms.IntroMonths : 1;
                introAhead = false;
            }
        }
        else
        {
            while (Due(nextSlot) <= today)
            {
                nextSlot++;
            }
        }

        EndTheTaxedTerm(c.Seq);
        terms = next;
        allTerms.Add(next);
        introAhead = false;
        rentLeft = Math.Max(0m, Read.Round((next.PurchasePrice - Equity(true)) / next.CreditShare));
        kind = (string?)c.Json["instrument"]?["kind"] ?? kind;
        serial = (string?)c.Json["instrument"]?["serial"] ?? serial;
        handedOut = c;
        named = c;
        TaxTheTerm(placeTonight, c.Seq);
        ChargeAccessories(c, placeTonight);
    }

    // ---- rates ----

    private (decimal Rate, bool Rent, bool Plan, bool Fees, bool Sale, string Regime) RateOn(string place, LocalDate date)
    {
        var entry = EntryOn(place, date);
        if (entry is null)
        {
            return (0m, false, false, false, false, "each-payment");
        }

        var taxes = entry.Json["taxes"];
        return (entry.Amount("rate"), Read.Flag(taxes?["rent"], true), Read.Flag(taxes?["plan"], false),
            Read.Flag(taxes?["fees"], false), Read.Flag(taxes?["sale"], true), (string?)entry.Json["regime"] ?? "each-payment");
    }

    public Cmd? EntryOn(string place, LocalDate date) =>
        view.Where(c => c.Do == "set-tax" && c.Text("jurisdiction") == place && c.Date("from") <= date)
            .OrderBy(c => c.Date("from")).ThenBy(c => c.Seq).LastOrDefault();

    // ---- figures ----

    /// <summary>Rent credit, terms by terms; with <paramref name="asIfPaid"/> as if the rent past due had been paid too.</summary>
    public decimal RentCredit(bool asIfPaid) => allTerms.Sum(t => Read.Round(
        t.CreditShare * items.Where(i => i.Part == "rent" && i.Under == t).Sum(i => asIfPaid ? i.Charged : i.MoneyPaid)));

    public decimal Equity(bool asIfPaid) => Math.Clamp(RentCredit(asIfPaid) - carriedOff, 0m, terms.PurchasePrice);

    private int Remaining() => terms.Count(rentLeft, introAhead);

    private bool Ended => status is not ("signed" or "active" or "on-hold");

    /// <summary>M61: the share of the equity, rounded, and at most the price of the sale.</summary>
    public decimal StepUpCredit(Cmd c) =>
        Math.Min(Read.Round(c.Amount("share") * Equity(false)), Read.Number(c.Json["sale"]?["price"]) ?? 0m);

    public (decimal Price, string Basis, decimal Tax) EarlyPurchase()
    {
        if (Ended)
        {
            return (0m, "none", 0m);
        }

        var moved = shift + (status == "on-hold" ? MonthsToMove(today) : 0);
        var discount = 0m;
        foreach (var (through, d) in terms.Tiers)
        {
            if (through is null || undelivered || today < anchor.PlusMonths(through.Value + moved))
            {
                discount = d;
                break;
            }
        }

        var price = Read.Round((terms.PurchasePrice - Equity(true)) * (1m - discount));
        var basis = "terms";
        var (citation, floor) = state switch
        {
            "NY" => ("N.Y. Pers. Prop. Law § 504", terms.MonthlyRent),
            "HI" => ("Haw. Rev. Stat. § 481M-6", 0m),
            "OH" => ("Ohio Rev. Code § 1351.06(B)", 0m),
            _ => ("", 0m),
        };
        var total = terms.Count(terms.RentToOwn, terms.IntroMonths > 0);
        if (citation.Length > 0 && total > 0)
        {
            var remaining = Math.Min(Remaining(), total);
            // No act says how to round: a ceiling is rounded down, so that it is never exceeded.
            var exact = state == "OH" ? terms.CashPrice - HalfOfAllPaid(true) : terms.CashPrice * remaining / total;
            var ceiling = Math.Max(Math.Floor(Math.Max(exact, 0m) * 100m) / 100m, floor);
            if (ceiling < price)
            {
                price = ceiling;
                basis = citation;
            }
        }

        var rate = RateOn(jurisdiction, today);
        var taxed = deliveryTax is null && (rate.Sale || rate.Regime == "net-price-at-purchase");
        return (price, basis, taxed ? Read.Round(price * rate.Rate) : 0m);
    }

    public JsonObject ToJson(string contract)
    {
        var equity = Equity(false);
        var pastDue = items.Sum(i => i.Open);
        var unapplied = lots.Where(l => !l.Goodwill).Sum(l => l.Waiting);
        var (price, basis, tax) = EarlyPurchase();
        var remaining = Ended ? 0 : Remaining();

        decimal Paid(Func<Item, bool> which) => items.Where(which).Sum(i => i.MoneyPaid);
        var paidRent = Paid(i => i.Part == "rent");
        var paidPlan = Paid(i => i.Part == "plan");
        var paidTax = Paid(i => i.Part == "tax");
        var paidFees = Paid(i => i.Part == "fee" && i.Kind is "late" or "returned" or "unreturned");
        var paidAccessories = Paid(i => i.Kind == "accessories" && i.Part == "price");
        var paidPurchase = Paid(i => (i.Kind == "purchase" && i.Part == "price") || i.Kind == "loss");

        var openItems = new JsonArray();
        foreach (var i in InPaymentOrder().Where(i => i.Open > 0m))
        {
            openItems.Add(new JsonObject
            {
                ["kind"] = i.Kind,
                ["part"] = i.Part,
                ["dueOn"] = Read.Iso(i.DueOn),
                ["charged"] = Read.Money(i.Charged),
                ["open"] = Read.Money(i.Open),
            });
        }

        JsonObject? nextDue = null;
        if (status is "signed" or "active" && !undelivered && remaining > 0)
        {
            var due = Due(nextSlot);
            var (rent, plan) = NextParts(planElected);
            var whole = BeginsTheFirstTerm ? TaxAtDelivery(jurisdiction, due) : null;
            var taxDue = whole is { } w ? w + InstallmentTax(0m, plan, jurisdiction, due) : InstallmentTax(rent, plan, jurisdiction, due);
            nextDue = new JsonObject { ["on"] = Read.Iso(due), ["amount"] = Read.Money(rent + plan + taxDue) };
        }

        var shown = writtenOff && status is "returned" or "cancelled" or "lost" or "stepped-up" ? "written-off" : status;
        return new JsonObject
        {
            ["contract"] = contract,
            ["on"] = Read.Iso(today),
            ["status"] = shown,
            ["instrument"] = new JsonObject { ["kind"] = kind, ["serial"] = serial },
            ["equity"] = Read.Money(equity),
            ["carriedEquity"] = Read.Money(carriedEquity),
            ["remainingToOwn"] = Read.Money(status == "owned" ? 0m : terms.PurchasePrice - equity),
            ["pastDue"] = Read.Money(pastDue),
            ["unappliedCredit"] = Read.Money(unapplied),
            ["goodwillCredit"] = Read.Money(lots.Where(l => l.Goodwill).Sum(l => l.Waiting)),
            ["merchandiseCredit"] = Read.Money(MerchandiseLeft),
            ["earlyPurchase"] = new JsonObject
            {
                ["price"] = Read.Money(price),
                ["basis"] = basis,
                ["tax"] = Read.Money(tax),
                ["payoff"] = Read.Money(Math.Max(0m, pastDue - unapplied + price + tax)),
            },
            ["paid"] = new JsonObject
            {
                ["total"] = Read.Money(paidRent + paidPlan + paidTax + paidFees + paidAccessories + paidPurchase),
                ["rent"] = Read.Money(paidRent),
                ["plan"] = Read.Money(paidPlan),
                ["tax"] = Read.Money(paidTax),
                ["fees"] = Read.Money(paidFees),
                ["accessories"] = Read.Money(paidAccessories),
                ["purchase"] = Read.Money(paidPurchase),
            },
            ["installments"] = new JsonObject
            {
                ["total"] = installments.Count + remaining,
                ["due"] = installments.Count,
                ["paid"] = installments.Count(i => i.Parts.All(p => p.Open <= 0m)),
                ["remaining"] = remaining,
            },
            ["remainingBySchedule"] = Read.Money(
                Ended ? 0m : rentLeft + items.Where(i => i.Part == "rent").Sum(i => i.Open)),
            ["totalCost"] = Read.Money(terms.RentToOwn),
            ["costOfRental"] = Read.Money(terms.RentToOwn - terms.CashPrice),
            ["openItems"] = openItems,
            ["nextDue"] = nextDue,
        };
    }
}
