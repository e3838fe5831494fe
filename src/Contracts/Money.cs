using System.Globalization;

namespace Contracts;

/// <summary>
/// US dollars in whole cents. Arithmetic is checked and there is no division: splitting or scaling an amount
/// goes through <see cref="Rate"/>, which says how it rounds.
/// </summary>
public readonly record struct Money(long Cents) : IComparable<Money>
{
    /// <summary>The largest amount a command may carry: one billion dollars.</summary>
    public const long LargestCents = 100_000_000_000;

    public static readonly Money Zero;

    public bool IsPositive => Cents > 0;

    public static Money operator +(Money left, Money right) => new(left.Cents + right.Cents);

    public static Money operator -(Money left, Money right) => new(left.Cents - right.Cents);

    public static bool operator <(Money left, Money right) => left.Cents < right.Cents;

    public static bool operator >(Money left, Money right) => left.Cents > right.Cents;

    public static bool operator <=(Money left, Money right) => left.Cents <= right.Cents;

    public static bool operator >=(Money left, Money right) => left.Cents >= right.Cents;

    public static Money Min(Money left, Money right) => left < right ? left : right;

    public static Money Max(Money left, Money right) => left > right ? left : right;

    /// <summary>The amount held within both bounds, each included.</summary>
    public Money Within(Money low, Money high) => Max(low, Min(high, this));

    public Money Times(int count) => new(Cents * count);

    public int CompareTo(Money other) => Cents.CompareTo(other.Cents);

    /// <summary>Dollars with two decimals and no sign but a minus, such as <c>38.00</c>.</summary>
    public override string ToString()
    {
        var size = Math.Abs(Cents);
        var sign = Cents < 0 ? "-" : "";
        return string.Create(CultureInfo.InvariantCulture, $"{sign}{size / 100}.{size % 100:00}");
    }

    /// <summary>
    /// Reads dollars with no or exactly two decimals. Anything else, a third decimal above all, is not an amount.
    /// </summary>
    public static bool TryParse(string text, out Money money)
    {
        money = Zero;
        var dot = text.IndexOf('.', StringComparison.Ordinal);
        if (dot >= 0 && text.Length - dot != 3) { return false; }
        var digits = dot < 0 ? text + "00" : string.Concat(text.AsSpan(0, dot), text.AsSpan(dot + 1));
        if (!long.TryParse(digits, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out var cents)) { return false; }
        if (dot == 0 || text.StartsWith('+') || text is "-" || text.StartsWith("-.", StringComparison.Ordinal)) { return false; }
        if (Math.Abs(cents) > LargestCents) { return false; }
        money = new Money(cents);
        return true;
    }

    public static Money Parse(string text) =>
        TryParse(text, out var money) ? money : throw new FormatException($"'{text}' is not an amount in dollars and cents.");
}
