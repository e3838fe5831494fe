namespace Contracts.Books.Depreciation;

/// <summary>
/// How the books spread an instrument's cost: straight line over a life in whole months down to a salvage value.
/// A parameter of the shop, to be settled with its accountant.
/// </summary>
public sealed record BookDepreciationPolicy
{
    /// <summary>The policy of a life and a salvage share.</summary>
    /// <param name="months">Life in whole months, at least 1.</param>
    /// <param name="salvage">The share of cost that is never depreciated, 0 to 1.</param>
    public BookDepreciationPolicy(int months, Rate salvage)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(months, 1);
        if (salvage < Rate.Nothing || salvage > Rate.Whole)
        {
            throw new ArgumentOutOfRangeException(nameof(salvage), "Salvage is a share of cost between 0 and 1.");
        }

        Months = months;
        Salvage = salvage;
    }

    /// <summary>60 months and 20 %. A parameter: common practice, no source.</summary>
    public static BookDepreciationPolicy Default { get; } = new(60, new Rate(20_000_000));

    /// <summary>Life in whole months.</summary>
    public int Months { get; }

    /// <summary>The share of cost that is never depreciated.</summary>
    public Rate Salvage { get; }

    /// <summary>What is left at the end of life: cost times the salvage share, rounded half away from zero to the cent.</summary>
    public Money SalvageOf(Money cost) => Salvage.Of(cost);
}
