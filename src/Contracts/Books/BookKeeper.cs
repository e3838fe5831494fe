using System.Collections.Immutable;
using System.Runtime.InteropServices;
using Contracts.Agreements;
using Contracts.History;
using Contracts.Payments;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Books;

/// <summary>
/// Writes the books of one contract while its fold lives through the days: every charge, settlement and event posts
/// balanced lines, and the end of each day posts what follows from the account as a whole (units, equity, what is
/// still deferred when a contract ends). Lines before a given day are not kept.
/// </summary>
internal sealed partial class BookKeeper(LocalDate from, ReferenceData rates) : IAccountWatcher
{
    private readonly List<BookLine> lines = [];
    private readonly Dictionary<string, PaymentMade> payments = new(StringComparer.Ordinal);
    private readonly Dictionary<string, Money> spareUnits = new(StringComparer.Ordinal);
    private readonly List<Running> running = [];
    private readonly List<(BookAccount Account, Money Amount)> writtenOff = [];
    private Money writtenOffInAll;
    private LocalDate today;
    private bool isKept;

    /// <summary>A period that has been charged and not yet passed.</summary>
    private readonly record struct Running(BookAccount Deferred, Spread Spread, Money Amount);

    /// <summary>Where what was taxed is written down: by the month's figures alone, since a posting has no use for it.</summary>
    public List<TaxMove>? TaxMoves { get; init; }

    public void BeginDay(LocalDate day)
    {
        today = day;
        isKept = day >= from;
    }

    public void Charged(Charge charge, LocalDate? covers)
    {
        PostCharge(charge, Movement.Charged, 1);
        if (charge.Kind == ChargeKind.Unreturned) { Post(BookAccount.UnitsLost, BookAccount.FleetInStore, spareUnits[charge.Id], Movement.Lost); }
        if (covers is not { } end) { return; }
        foreach (var item in charge.Parts)
        {
            if (item.Part is ChargePart.Rent or ChargePart.Plan)
            {
                Earn(ChargeRules.Against(charge.Kind, item.Part), new Spread(charge.DueOn, end), item.Charged);
            }
        }
    }

    public void ChargeReversed(Charge charge) => PostCharge(charge, Movement.ChargeReversed, -1);

    public void SpareUnitFound(Charge fee) => Post(BookAccount.FleetInStore, BookAccount.UnitsLost, spareUnits[fee.Id], Movement.Found);

    public void Settled(ChargeItem item, Money amount, bool goodwill)
    {
        var movement = amount.IsPositive ? Movement.Settled : Movement.Reopened;
        Post(goodwill ? BookAccount.GoodwillCredit : BookAccount.UnappliedCredit, ChargeRules.Receivable(item.Charge.Kind), amount, movement);
    }

    public void Happened(Recorded fact, bool took, AccountFold fold)
    {
        Remember(fact.Event, fact.Key);
        var entry = PostingRules.EntryOf(fact.Event, took, payments);
        switch (entry)
        {
            case Entry.Of lines: Post(lines.Debit, lines.Credit, lines.Amount, lines.Movement); break;
            case Entry.WriteOff off: WriteOff(off.Amount, fold.Allocation.Open); break;
            case Entry.Recovery back: Recover(back.Amount); break;
            default: break; // No entry, and the rule says why.
        }

        if (fact.Event is ContractEvent.PaymentReversed reversal) { payments.Remove(reversal.Payment); }
    }

    /// <summary>What was posted since this was asked last, in order: lines of one account, reason and day are one line.</summary>
    public ImmutableArray<BookLine> TakeLines()
    {
        var kept = CollectionsMarshal.AsSpan(lines);
        var count = 0;
        foreach (ref readonly var line in kept) { count += line.Amount == Money.Zero ? 0 : 1; }
        var taken = new BookLine[count];
        count = 0;
        foreach (ref readonly var line in kept)
        {
            if (line.Amount != Money.Zero) { taken[count++] = line; }
        }

        lines.Clear();
        unitMoves.Clear();
        return ImmutableCollectionsMarshal.AsImmutableArray(taken);
    }

    /// <summary>Everything posted, in order: lines of one account, reason and day are one line.</summary>
    public List<BookLine> Lines() => lines.FindAll(static line => line.Amount != Money.Zero);

    private void Remember(ContractEvent fact, string key)
    {
        switch (fact)
        {
            case ContractEvent.PaymentReceived e: payments[key] = new PaymentMade(PostingRules.AccountOf(e.Method), e.Amount); break;
            case ContractEvent.BoughtEarly e: payments[key] = new PaymentMade(PostingRules.AccountOf(e.Method), e.Amount); break;
            // The unit that goes is one of those the contract's unit cost stands for, whatever instrument comes after.
            case ContractEvent.InstrumentSwapped: spareUnits[$"unreturned:{key}"] = instrument?.Cost ?? Money.Zero; break;
            default: break; // Brings no money.
        }
    }

    private void PostCharge(Charge charge, Movement movement, int sign)
    {
        TaxMoves?.Add(TaxMove.Of(today, movement, rates, charge));
        var receivable = ChargeRules.Receivable(charge.Kind);
        foreach (var item in charge.Parts)
        {
            var amount = item.Charged.Times(sign);
            Add(receivable, movement, "", amount);
            var against = ChargeRules.Against(charge.Kind, item.Part);
            if (against == BookAccount.SalesTaxPayable) { Owe(charge.Jurisdiction, charge.TaxedOn, amount, movement); }
            else { Add(against, movement, "", Money.Zero - amount); }
        }
    }

    /// <summary>Tax by authority, split as the entry says under which it was taken.</summary>
    private void Owe(string jurisdiction, LocalDate taxedOn, Money tax, Movement movement)
    {
        var entry = rates.On(jurisdiction, taxedOn);
        if (entry.HasOneAuthority)
        {
            Add(BookAccount.SalesTaxPayable, movement, jurisdiction, Money.Zero - tax);
            return;
        }

        foreach (var (authority, part) in entry.Split(jurisdiction, tax))
        {
            Add(BookAccount.SalesTaxPayable, movement, authority, Money.Zero - part);
        }
    }

    private void Earn(BookAccount deferred, Spread period, Money amount)
    {
        for (var index = running.Count - 1; index >= 0; index--)
        {
            if (running[index].Spread.To <= today) { running.RemoveAt(index); }
        }

        running.Add(new Running(deferred, period, amount));
        AddSpread(deferred, Movement.Released, period.From, period, amount);
    }

    private void WriteOff(Money amount, List<ChargeItem> open)
    {
        // What was written off before came out of the oldest items too.
        var skip = writtenOffInAll;
        writtenOffInAll += amount;
        foreach (var item in open)
        {
            var passed = Money.Min(skip, item.Open);
            skip -= passed;
            var part = Money.Min(amount, item.Open - passed);
            if (!part.IsPositive) { continue; }
            amount -= part;
            Bear(ChargeRules.Uncollectible(item.Part), part);
        }

        // Later knowledge may leave less open than was written off.
        if (amount.IsPositive) { Bear(BookAccount.BadDebts, amount); }
    }

    private void Bear(BookAccount account, Money amount)
    {
        writtenOff.Add((account, amount));
        Post(account, BookAccount.ReceivablesWrittenOff, amount, Movement.WrittenOff);
    }

    private void Recover(Money amount)
    {
        writtenOffInAll -= amount;
        for (var index = 0; index < writtenOff.Count && amount.IsPositive; index++)
        {
            var (account, borne) = writtenOff[index];
            var part = Money.Min(amount, borne);
            if (!part.IsPositive) { continue; }
            writtenOff[index] = (account, borne - part);
            amount -= part;
            Post(BookAccount.ReceivablesWrittenOff, account, part, Movement.Recovered);
        }

        if (amount.IsPositive) { Post(BookAccount.ReceivablesWrittenOff, BookAccount.BadDebts, amount, Movement.Recovered); }
    }

    private void Post(BookAccount debit, BookAccount credit, Money amount, Movement movement)
    {
        Add(debit, movement, "", amount);
        Add(credit, movement, "", Money.Zero - amount);
    }

    private void Add(BookAccount account, Movement movement, string authority, Money amount)
    {
        if (isKept && amount != Money.Zero) { Place(new BookLine(account, movement, authority, today, null, amount)); }
    }

    private void AddSpread(BookAccount deferred, Movement movement, LocalDate on, Spread period, Money amount)
    {
        // A period cut short is taken back from tomorrow on, and still by what happened today.
        if (!isKept || amount == Money.Zero) { return; }
        Place(new BookLine(deferred, movement, "", on, period, amount));
        Place(new BookLine(ChargeRules.Earned(deferred), movement, "", on, period, Money.Zero - amount));
    }

    /// <summary>Puts a line in its place, or adds a plain one to its like: a day has few lines, and it is the last of those that are kept.</summary>
    private void Place(in BookLine line)
    {
        var kept = CollectionsMarshal.AsSpan(lines);
        var (place, order) = (kept.Length, -1);
        while (place > 0 && (order = BookLine.ComparePlace(kept[place - 1], line)) > 0) { place--; }
        if (place > 0 && order == 0 && line.Spread is null)
        {
            kept[place - 1] = line with { Amount = kept[place - 1].Amount + line.Amount };
            return;
        }

        // The days of two periods round apart, so they stay two lines.
        while (place > 0 && BookLine.Compare(kept[place - 1], line) > 0) { place--; }
        lines.Insert(place, line);
    }
}
