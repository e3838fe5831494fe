namespace Contracts.Payments;

/// <summary>Money or goodwill from one source. It waits until something opens, and remembers what it paid.</summary>
internal sealed class Lot(string source, Money amount, bool isGoodwill)
{
    /// <summary>The key of the command that brought it.</summary>
    public string Source { get; } = source;

    public bool IsGoodwill { get; } = isGoodwill;

    public Money Waiting { get; set; } = amount;

    /// <summary>What of it was given back to the family.</summary>
    public Money Refunded { get; set; }

    public List<(ChargeItem Item, Money Amount)> Paid { get; } = new(4);

    public bool IsReversed { get; set; }
}
