using NodaTime;

namespace Contracts.Payments;

/// <summary>What a charge is for. The order of kinds and parts is the order in which money pays them.</summary>
public enum ChargeKind
{
    /// <summary>Tax on all rents of a term, or what of it is kept; a part of tax and no other (M80, M81).</summary>
    DeliveryTax,
    Installment,
    Accessories,
    Late,
    Unreturned,
    Returned,
    Loss,
    RefundToRecover,
    Purchase,
}

/// <summary>A part of a charge; within one charge, money pays them in this order.</summary>
public enum ChargePart
{
    Tax,
    Rent,
    Plan,
    Price,
    Fee,
}

/// <summary>One amount that is owed, and what has paid it so far.</summary>
public sealed class ChargeItem(Charge charge, ChargePart part, Money charged)
{
    public Charge Charge { get; } = charge;

    public ChargePart Part { get; } = part;

    public Money Charged { get; } = charged;

    /// <summary>What is still unpaid; zero once the charge is reversed.</summary>
    public Money Open { get; internal set; } = charged;

    /// <summary>Goodwill pays plan, tax, accessories and fees; never rent, a loss, a purchase or a refund to recover.</summary>
    public bool TakesGoodwill =>
        Part != ChargePart.Rent
        && Charge.Kind is not (ChargeKind.Loss or ChargeKind.RefundToRecover or ChargeKind.Purchase);
}

/// <summary>An installment, a sale or a fee: one or more parts that stand and fall together.</summary>
/// <param name="id">Its id, or null for one that the kind and the date make: few are ever asked for theirs.</param>
/// <param name="kind">What it is for.</param>
/// <param name="dueOn">The day it is owed from.</param>
/// <param name="sequence">Breaks ties between fees of one day; zero where the day alone decides.</param>
/// <param name="termsIndex">Which of the contract's sets of terms it was charged under, counted from zero.</param>
/// <param name="namedFor">The date in its id where that is not the day it is owed from: a late fee's installment.</param>
public sealed class Charge(
    string? id, ChargeKind kind, LocalDate dueOn, long sequence, int termsIndex, LocalDate? namedFor = null)
{
    private string? id = id;

    public string Id => id ??= IdOf(Kind, NamedFor);

    private LocalDate NamedFor => namedFor ?? DueOn;

    public ChargeKind Kind { get; } = kind;

    public LocalDate DueOn { get; } = dueOn;

    public long Sequence { get; } = sequence;

    public int TermsIndex { get; } = termsIndex;

    /// <summary>The jurisdiction whose entry made its tax; empty for a charge that no entry can tax.</summary>
    public string Jurisdiction { get; internal init; } = "";

    /// <summary>The day whose entry made its tax: its own, but for the part of a delivery tax that is kept (M81).</summary>
    public LocalDate TaxedOn { get; internal init; } = dueOn;

    /// <summary>What its tax was taken on; nothing for a charge that bears none.</summary>
    public TaxBase Base { get; internal init; }

    /// <summary>The parts, in the order in which money pays them.</summary>
    public IReadOnlyList<ChargeItem> Items => items;

    private ChargeItem[] items = [];

    /// <summary>The day it was taken back or waived, or null while it stands.</summary>
    public LocalDate? ReversedOn { get; internal set; }

    /// <summary>The id that a kind and a date make, such as <c>late:2026-09-05</c>.</summary>
    public static string IdOf(ChargeKind kind, LocalDate day) =>
        $"{kind.Word()}:{NodaTime.Text.LocalDatePattern.Iso.Format(day)}";

    public bool IsPaid
    {
        get
        {
            foreach (var item in items)
            {
                if (item.Open != Money.Zero) { return false; }
            }

            return true;
        }
    }

    public Money Of(ChargePart part)
    {
        foreach (var item in items)
        {
            if (item.Part == part) { return item.Charged; }
        }

        return Money.Zero;
    }

    /// <summary>Whether another charge has the same name, day, kind and parts; what has paid them does not count.</summary>
    internal bool IsLike(Charge other)
    {
        if (Kind != other.Kind || DueOn != other.DueOn || items.Length != other.items.Length) { return false; }
        for (var index = 0; index < items.Length; index++)
        {
            if (items[index].Part != other.items[index].Part || items[index].Charged != other.items[index].Charged) { return false; }
        }

        // The day in a name tells as much as the name, which takes longer to spell.
        return id is null && other.id is null ? NamedFor == other.NamedFor : Id == other.Id;
    }

    /// <summary>Gives the charge its parts; a part of zero makes no item.</summary>
    internal Charge Of(params ReadOnlySpan<(ChargePart Part, Money Amount)> parts)
    {
        var count = 0;
        foreach (var (_, amount) in parts) { count += amount.IsPositive ? 1 : 0; }
        items = count == 0 ? [] : new ChargeItem[count];
        count = 0;
        foreach (var (part, amount) in parts)
        {
            if (amount.IsPositive) { items[count++] = new ChargeItem(this, part, amount); }
        }

        return this;
    }

    internal ReadOnlySpan<ChargeItem> Parts => items;

    /// <summary>
    /// Installments first, a delivery tax before the installment of its day, then the accessory sale, then fees by
    /// day (late, unreturned, then by sequence), then refunds to recover, and a purchase last.
    /// </summary>
    /// <param name="other">The charge it is compared with.</param>
    /// <param name="newestFirst">Whether of two installments the later one comes first; fees keep to their days.</param>
    internal int ComparePlace(Charge other, bool newestFirst)
    {
        var byClass = Class.CompareTo(other.Class);
        if (byClass != 0) { return byClass; }
        var byDay = DueOn.CompareTo(other.DueOn);
        if (byDay != 0) { return newestFirst && Class == 0 ? -byDay : byDay; }
        var byKind = FeeRank.CompareTo(other.FeeRank);
        if (byKind != 0) { return byKind; }
        var bySequence = Sequence.CompareTo(other.Sequence);
        // An exchange can bring two delivery taxes: what is kept under the old terms is paid before the new one.
        return bySequence != 0 ? bySequence : TermsIndex.CompareTo(other.TermsIndex);
    }

    private int Class => Kind switch
    {
        ChargeKind.Installment or ChargeKind.DeliveryTax => 0,
        ChargeKind.Accessories => 1,
        ChargeKind.RefundToRecover => 3,
        ChargeKind.Purchase => 4,
        _ => 2,
    };

    private int FeeRank => Kind switch { ChargeKind.Late or ChargeKind.DeliveryTax => 0, ChargeKind.Unreturned => 1, _ => 2 };
}
