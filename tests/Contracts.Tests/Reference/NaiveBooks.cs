using System.Text.Json.Nodes;
using Contracts.Books;
using NodaTime;

namespace Contracts.Tests.Reference;

/// <summary>
/// The books of one contract, written from the posting rules in words. It posts nothing: for every account it asks what its
/// balance must be at the end of a day, from the account as the naive fold finds it and from the commands themselves.
/// Debits are positive.
/// </summary>
public static class NaiveBooks
{
    /// <summary>Every balance that is not zero at the end of <paramref name="on"/> as known at <paramref name="known"/>.</summary>
    public static Dictionary<(BookAccount Account, string Authority), decimal> Balances(
        IReadOnlyList<AcceptedCommand> all, string contract, LocalDate on, Instant known)
    {
        var sheet = new Sheet();
        if (NaiveReference.Fold(all, contract, on, known) is { } fold)
        {
            Receivables(fold, sheet);
            ChargedSoFar(fold, sheet);
            Deferred(fold, on, sheet);
            Money(fold, sheet);
            Given(fold, sheet);
            WriteOffs(fold, sheet);
            Units(fold, sheet);
            TaxOnCost(fold, sheet);
            Equity(fold, sheet);
        }

        return sheet.Balances;
    }

    /// <summary>What is open, by what it is for.</summary>
    private static void Receivables(NaiveFold fold, Sheet sheet)
    {
        foreach (var item in fold.Items)
        {
            sheet.Debit(item.Kind switch
            {
                "installment" or "delivery-tax" => BookAccount.ReceivableInstallments,
                "late" or "returned" => BookAccount.ReceivableFees,
                "unreturned" or "loss" => BookAccount.ReceivableLosses,
                "accessories" or "purchase" => BookAccount.ReceivableSales,
                "refund-to-recover" => BookAccount.RefundsToRecover,
                _ => throw new InvalidOperationException($"An item of kind {item.Kind}."),
            }, item.Open);
        }
    }

    /// <summary>What stands charged, against its income or its authority. Rent and plan are earned by day, elsewhere.</summary>
    private static void ChargedSoFar(NaiveFold fold, Sheet sheet)
    {
        foreach (var item in fold.Items)
        {
            switch (item.Kind, item.Part)
            {
                case (_, "tax"): TaxOwed(fold, item.Place, item.TaxedOn, item.Charged, sheet); break;
                case ("installment", _): break;
                case ("accessories", "price"): sheet.Credit(BookAccount.AccessorySales, item.Charged); break;
                case ("purchase", "price"): sheet.Credit(BookAccount.InstrumentSales, item.Charged); break;
                case ("late", "fee"): sheet.Credit(BookAccount.LateFees, item.Charged); break;
                case ("returned", "fee"): sheet.Credit(BookAccount.ReturnedPaymentFees, item.Charged); break;
                case ("unreturned" or "loss", "fee"): sheet.Credit(BookAccount.LossCharges, item.Charged); break;
                // A refund to recover is owed against unapplied credit, which is counted from the lots.
                case ("refund-to-recover", "fee"): break;
                default: throw new InvalidOperationException($"The {item.Part} of {item.Kind}.");
            }
        }
    }

    /// <summary>An amount of tax to the authorities of the entry of its day: whole cents cut off, the rest to the largest fractions.</summary>
    private static void TaxOwed(NaiveFold fold, string place, LocalDate day, decimal tax, Sheet sheet)
    {
        var entry = fold.EntryOn(place, day);
        var parts = entry?.Json["parts"]?.AsArray() ?? [];
        var rate = entry?.Amount("rate") ?? 0m;
        if (parts.Count == 0 || rate == 0m)
        {
            sheet.Credit(BookAccount.SalesTaxPayable, tax, place);
            return;
        }

        var exact = parts.Select(part => tax * 100m * Read.Number(part?["rate"])!.Value / rate).ToList();
        var cents = exact.Select(Math.Floor).ToList();
        while (cents.Sum() < tax * 100m)
        {
            var neediest = Enumerable.Range(0, cents.Count).Where(i => cents[i] == Math.Floor(exact[i])).MaxBy(i => exact[i] - cents[i]);
            cents[neediest] += 1m;
        }

        for (var i = 0; i < cents.Count; i++)
        {
            sheet.Credit(BookAccount.SalesTaxPayable, cents[i] / 100m, (string)parts[i]!["authority"]!);
        }
    }

    /// <summary>Rent and plan: earned evenly by day over the period, all of it once the contract has ended on or after the due date.</summary>
    private static void Deferred(NaiveFold fold, LocalDate on, Sheet sheet)
    {
        foreach (var installment in fold.Installments)
        {
            var ended = fold.Evenings.Any(e => e.Day >= installment.DueOn && HasEnded(e.Status));
            var days = Period.DaysBetween(installment.DueOn, installment.Next);
            var passed = Math.Min(days, Period.DaysBetween(installment.DueOn, on) + 1);
            foreach (var item in installment.Parts.Where(item => item.Part != "tax"))
            {
                var earned = ended ? item.Charged : Read.Round(item.Charged * passed / days);
                var (deferred, income) = item.Part == "rent"
                    ? (BookAccount.DeferredRent, BookAccount.RentalRevenue) : (BookAccount.DeferredPlan, BookAccount.PlanRevenue);
                sheet.Credit(deferred, item.Charged - earned);
                sheet.Credit(income, earned);
            }
        }
    }

    private static bool HasEnded(string status) => status is "returned" or "cancelled" or "owned" or "lost" or "stepped-up";

    /// <summary>Money in by its method and out of the operating account; what of it waits.</summary>
    private static void Money(NaiveFold fold, Sheet sheet)
    {
        var commands = fold.CommandsSoFar.ToList();
        var reversed = commands.Where(c => c.Do == "reverse-payment").Select(c => c.Text("payment")).ToHashSet();
        foreach (var c in commands.Where(c => c.Do is "pay" or "buy" && !reversed.Contains(c.Key)))
        {
            sheet.Debit(c.Text("method").ToLowerInvariant() switch
            {
                "cash" => BookAccount.CashDrawer,
                "card" or "credit-card" or "debit-card" => BookAccount.CardClearing,
                "ach" or "bank" or "bank-debit" or "transfer" => BookAccount.BankClearing,
                "check" or "cheque" => BookAccount.ChecksReceived,
                _ => BookAccount.CashOperating,
            }, c.Amount("amount"));
        }

        sheet.Credit(BookAccount.CashOperating, commands.Where(c => c.Do == "refund").Sum(c => c.Amount("amount")));
        sheet.Credit(BookAccount.UnappliedCredit, fold.Lots.Where(lot => !lot.Goodwill).Sum(lot => lot.Waiting));
    }

    private static void Given(NaiveFold fold, Sheet sheet)
    {
        sheet.Debit(BookAccount.GoodwillGiven, fold.CommandsSoFar.Where(c => c.Do == "credit").Sum(c => c.Amount("amount")));
        sheet.Credit(BookAccount.GoodwillCredit, fold.Lots.Where(lot => lot.Goodwill).Sum(lot => lot.Waiting));
        sheet.Pair(BookAccount.StepUpCreditGiven, BookAccount.StepUpCredit, fold.StepUps.Sum());
        // What a sale took up was given for good; beside it stands what can still be spent.
        sheet.Pair(BookAccount.MerchandiseCreditGiven, BookAccount.StepUpCredit, fold.SpentOnSales);
        sheet.Pair(BookAccount.MerchandiseCreditGiven, BookAccount.MerchandiseCredit, fold.MerchandiseLeft);
    }

    /// <summary>Open items bear a write-off in the order in which money pays them, past what was written off before; a recovery undoes the first of it first.</summary>
    private static void WriteOffs(NaiveFold fold, Sheet sheet)
    {
        var borne = new List<(BookAccount Account, decimal Amount)>();
        var before = 0m;
        foreach (var (amount, open) in fold.WriteOffs)
        {
            if (amount < 0m)
            {
                var back = -amount;
                for (var i = 0; i < borne.Count; i++)
                {
                    var part = Math.Min(back, borne[i].Amount);
                    borne[i] = (borne[i].Account, borne[i].Amount - part);
                    back -= part;
                }

                borne.Add((BookAccount.BadDebts, -back));
            }
            else
            {
                // Lay all open items on a line: this write-off takes the stretch from what was written off before to its own end.
                var (from, to, at) = (before, before + amount, 0m);
                foreach (var (part, size) in open)
                {
                    var piece = Math.Min(to, at + size) - Math.Max(from, at);
                    if (piece > 0m) { borne.Add((Bearer(part), piece)); }
                    at += size;
                }

                if (to > Math.Max(from, at)) { borne.Add((BookAccount.BadDebts, to - Math.Max(from, at))); }
            }

            before += amount;
        }

        foreach (var (account, amount) in borne) { sheet.Pair(account, BookAccount.ReceivablesWrittenOff, amount); }
    }

    private static BookAccount Bearer(string part) => part switch
    {
        "rent" => BookAccount.UncollectibleRent,
        "tax" => BookAccount.SalesTaxOnBadDebts,
        _ => BookAccount.BadDebts,
    };

    /// <summary>Where the contract's unit is tonight; earlier ones came back when they were exchanged. Then the units that were never brought in.</summary>
    private static void Units(NaiveFold fold, Sheet sheet)
    {
        var tonight = fold.Evenings[^1];
        var atFamily = tonight.Status is "active" or "on-hold";
        BookAccount? place = tonight.Status switch
        {
            "active" or "on-hold" => BookAccount.FleetOnRent,
            "lost" => BookAccount.UnitsLost,
            "owned" => tonight.OwnedByLoss ? BookAccount.UnitsLost : BookAccount.CostOfInstrumentsSold,
            _ => null,
        };
        if (place is { } account) { sheet.Pair(account, BookAccount.FleetInStore, Cost(tonight.Named)); }
        foreach (var unit in fold.GivenUp) { sheet.Pair(BookAccount.UnitsLost, BookAccount.FleetInStore, Cost(unit.Named)); }
        sheet.Pair(BookAccount.UnitsOnRent, BookAccount.UnitsContra, atFamily ? 1m : 0m);
    }

    /// <summary>Under lessor-cost, each unit that was not used is taxed on its cost on the first evening it is at the family's.</summary>
    private static void TaxOnCost(NaiveFold fold, Sheet sheet)
    {
        foreach (var unit in fold.Evenings.Where(e => e.Status is "active" or "on-hold").GroupBy(e => e.Named.Seq))
        {
            var first = unit.First();
            var entry = fold.EntryOn(first.Place, first.Day);
            if ((string?)entry?.Json["regime"] != "lessor-cost" || (string?)first.Named.Json["instrument"]?["condition"] == "used") { continue; }
            var tax = Read.Round(Cost(first.Named) * entry!.Amount("rate"));
            sheet.Debit(BookAccount.SalesTaxOnCost, tax);
            TaxOwed(fold, first.Place, first.Day, tax, sheet);
        }
    }

    private static void Equity(NaiveFold fold, Sheet sheet)
    {
        var usable = fold.Evenings[^1].Status is "signed" or "active" or "on-hold" or "lost";
        sheet.Pair(BookAccount.EquityHeld, BookAccount.EquityContra, usable ? fold.Equity(false) : 0m);
    }

    private static decimal Cost(Cmd named) => Read.Number(named.Json["instrument"]?["cost"]) ?? 0m;

    private sealed class Sheet
    {
        private readonly Dictionary<(BookAccount Account, string Authority), decimal> balances = [];

        public Dictionary<(BookAccount Account, string Authority), decimal> Balances =>
            balances.Where(pair => pair.Value != 0m).ToDictionary(pair => pair.Key, pair => pair.Value);

        public void Debit(BookAccount account, decimal amount, string authority = "") =>
            balances[(account, authority)] = balances.GetValueOrDefault((account, authority)) + amount;

        public void Credit(BookAccount account, decimal amount, string authority = "") => Debit(account, -amount, authority);

        public void Pair(BookAccount debit, BookAccount credit, decimal amount)
        {
            Debit(debit, amount);
            Credit(credit, amount);
        }
    }
}
