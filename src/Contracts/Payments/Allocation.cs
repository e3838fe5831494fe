using NodaTime;

namespace Contracts.Payments;

/// <summary>
/// Who owes what, and which money paid it. Money waits in lots, oldest first, and pays open items in their order;
/// goodwill goes before money. Later rent never takes money already applied.
/// </summary>
internal sealed class Allocation(ISettlementWatcher? watcher = null)
{
    private readonly List<Charge> charges = new(32);
    private readonly List<ChargeItem> open = new(8);
    private readonly List<Lot> lots = new(16);

    /// <summary>Lots before this place have nothing left to give.</summary>
    private int firstWaiting;

    public List<Charge> Charges => charges;

    /// <summary>
    /// Whether money pays the newest of several payments past due first, as some acts say; money already applied stays where
    /// it is.
    /// </summary>
    public bool NewestFirst
    {
        get;
        set
        {
            if (field == value) { return; }
            field = value;
            ChargeItem[] items = [.. open];
            open.Clear();
            foreach (var item in items) { Place(item); }
        }
    }

    /// <summary>The unpaid items in the order in which money will pay them.</summary>
    public List<ChargeItem> Open => open;

    /// <summary>Installments so far, those taken back included.</summary>
    public int Installments { get; private set; }

    /// <summary>Installments of which something is unpaid; every part that is unpaid is open, and parts of one charge follow each other.</summary>
    public int InstallmentsUnpaid
    {
        get
        {
            var (unpaid, last) = (0, (Charge?)null);
            foreach (var item in open)
            {
                if (item.Charge.Kind != ChargeKind.Installment || item.Charge == last) { continue; }
                last = item.Charge;
                unpaid++;
            }

            return unpaid;
        }
    }

    /// <summary>All money and goodwill so far, in the order in which it pays; what was taken back is in it.</summary>
    public IReadOnlyList<Lot> Lots => lots;

    public PaidTotals Paid { get; } = new();

    public Money Unapplied { get; private set; }

    public Money Goodwill { get; private set; }

    public Money PastDue { get; private set; }

    public Money OpenRent { get; private set; }

    public void Add(Charge charge)
    {
        charges.Add(charge);
        if (charge.Kind == ChargeKind.Installment) { Installments++; }
        foreach (var item in charge.Parts)
        {
            Owe(item, item.Charged);
            Place(item);
        }
    }

    public void Receive(string source, Money amount, bool isGoodwill)
    {
        lots.Add(new Lot(source, amount, isGoodwill));
        Wait(isGoodwill, amount);
    }

    /// <summary>Lets everything that waits pay what it may.</summary>
    public void Settle()
    {
        if (open.Count == 0 || (Unapplied == Money.Zero && Goodwill == Money.Zero)) { return; }
        foreach (var item in open)
        {
            if (item.TakesGoodwill && Goodwill.IsPositive) { Pay(item, goodwill: true); }
            if (item.Open.IsPositive && Unapplied.IsPositive) { Pay(item, goodwill: false); }
        }

        open.RemoveAll(item => item.Open == Money.Zero);
        while (firstWaiting < lots.Count && lots[firstWaiting].Waiting == Money.Zero) { firstWaiting++; }
    }

    /// <summary>Takes a charge back: each lot gets its money again.</summary>
    public void Reverse(Charge charge, LocalDate on)
    {
        charge.ReversedOn = on;
        foreach (var lot in lots)
        {
            for (var index = lot.Paid.Count - 1; index >= 0; index--)
            {
                var (item, amount) = lot.Paid[index];
                if (item.Charge != charge) { continue; }
                lot.Paid.RemoveAt(index);
                Unpay(lot, item, amount);
                lot.Waiting += amount;
                Wait(lot.IsGoodwill, amount);
            }
        }

        foreach (var item in charge.Parts) { Owe(item, Money.Zero - item.Open); item.Open = Money.Zero; }
        open.RemoveAll(item => item.Charge == charge);
        firstWaiting = 0;
    }

    /// <summary>
    /// Takes a payment back: what it paid opens again and its rest goes. Answers what of it had been refunded already.
    /// </summary>
    public Money ReverseLot(string source)
    {
        var lot = lots.Find(candidate => candidate.Source == source && !candidate.IsGoodwill && !candidate.IsReversed);
        if (lot is null) { return Money.Zero; }
        foreach (var (item, amount) in lot.Paid)
        {
            Unpay(lot, item, amount);
            if (!open.Contains(item)) { Place(item); }
        }

        lot.Paid.Clear();
        Wait(lot.IsGoodwill, Money.Zero - lot.Waiting);
        lot.Waiting = Money.Zero;
        lot.IsReversed = true;
        return lot.Refunded;
    }

    /// <summary>Gives waiting money back, oldest lot first. Answers what could not be found.</summary>
    public Money Refund(Money amount)
    {
        foreach (var lot in lots)
        {
            if (lot.IsGoodwill || !lot.Waiting.IsPositive) { continue; }
            var part = Money.Min(lot.Waiting, amount);
            lot.Waiting -= part;
            lot.Refunded += part;
            Wait(goodwill: false, Money.Zero - part);
            amount -= part;
            if (amount == Money.Zero) { break; }
        }

        return amount;
    }

    /// <summary>The fee or purchase of an id, unless it is reversed. Installments are never looked up by theirs.</summary>
    public Charge? Standing(string id) => charges.Find(charge =>
        charge.Kind is not (ChargeKind.Installment or ChargeKind.Accessories) && charge.Id == id && charge.ReversedOn is null);

    /// <summary>A sale of accessories that stands.</summary>
    public Charge? StandingSale(string id) =>
        charges.Find(charge => charge.Kind == ChargeKind.Accessories && charge.Id == id && charge.ReversedOn is null);

    /// <summary>What the money of a source has paid, in the order in which it did, and what of it waits.</summary>
    public (IReadOnlyList<(ChargeItem Item, Money Amount)> Paid, Money Waiting) PaidBy(string source)
    {
        var lot = lots.Find(candidate => candidate.Source == source);
        return lot is null ? ([], Money.Zero) : (lot.Paid, lot.Waiting);
    }

    private void Pay(ChargeItem item, bool goodwill)
    {
        for (var index = firstWaiting; index < lots.Count && item.Open.IsPositive; index++)
        {
            var lot = lots[index];
            if (lot.IsGoodwill != goodwill || !lot.Waiting.IsPositive) { continue; }
            var part = Money.Min(lot.Waiting, item.Open);
            lot.Waiting -= part;
            lot.Paid.Add((item, part));
            Wait(goodwill, Money.Zero - part);
            item.Open -= part;
            Owe(item, Money.Zero - part);
            watcher?.Settled(item, part, goodwill);
            if (!goodwill) { Paid.Add(item, part); }
        }
    }

    private void Unpay(Lot lot, ChargeItem item, Money amount)
    {
        item.Open += amount;
        Owe(item, amount);
        watcher?.Settled(item, Money.Zero - amount, lot.IsGoodwill);
        if (!lot.IsGoodwill) { Paid.Add(item, Money.Zero - amount); }
    }

    private void Owe(ChargeItem item, Money amount)
    {
        PastDue += amount;
        if (item.Part == ChargePart.Rent) { OpenRent += amount; }
    }

    private void Wait(bool goodwill, Money amount)
    {
        if (goodwill) { Goodwill += amount; }
        else { Unapplied += amount; }
    }

    private void Place(ChargeItem item)
    {
        var place = open.Count;
        while (place > 0 && ComparePlace(open[place - 1], item) > 0) { place--; }
        open.Insert(place, item);
    }

    private int ComparePlace(ChargeItem left, ChargeItem right)
    {
        var byCharge = left.Charge.ComparePlace(right.Charge, NewestFirst);
        return byCharge != 0 ? byCharge : (int)left.Part - (int)right.Part;
    }
}
