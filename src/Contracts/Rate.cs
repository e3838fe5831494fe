using System.Globalization;

namespace Contracts;

/// <summary>
/// A share or a tax rate, exact to eight decimals. Every multiplication rounds half away from zero to the cent,
/// once (SSUTA section 324 asks the same of tax: carry it to the third decimal, up when that is more than four).
/// </summary>
public readonly record struct Rate(long Units) : IComparable<Rate>
{
    private const long One = 100_000_000;

    /// <summary>Cents below this times a rate of at most one stay within 64 bits.</summary>
    private const long FitsInLong = 90_000_000_000;

    public static readonly Rate Nothing;
    public static readonly Rate Whole = new(One);

    public Rate Complement => new(One - Units);

    /// <summary>The amount times this rate, rounded half away from zero to the cent.</summary>
    public Money Of(Money amount) =>
        amount.Cents is >= 0 and < FitsInLong && Units is >= 0 and <= One
            ? new Money(((amount.Cents * Units) + (One / 2)) / One)
            : new Money(Rounded((Int128)amount.Cents * Units, One));

    /// <summary>The amount whose share at this rate is the given one: amount / rate, rounded half away from zero.</summary>
    public Money WholeOf(Money part) =>
        Units <= 0
            ? throw new InvalidOperationException("Nothing has no whole.")
            : new Money(part.Cents is >= 0 and < FitsInLong ? Rounded(part.Cents * One, Units) : Rounded((Int128)part.Cents * One, Units));

    /// <summary>amount x numerator / denominator, rounded half away from zero to the cent.</summary>
    public static Money Fraction(Money amount, int numerator, int denominator) =>
        new(Rounded((Int128)amount.Cents * numerator, denominator));

    public int CompareTo(Rate other) => Units.CompareTo(other.Units);

    public static bool operator <(Rate left, Rate right) => left.Units < right.Units;

    public static bool operator >(Rate left, Rate right) => left.Units > right.Units;

    public static bool operator <=(Rate left, Rate right) => left.Units <= right.Units;

    public static bool operator >=(Rate left, Rate right) => left.Units >= right.Units;

    /// <summary>A decimal with at least two places: <c>0.40</c>, <c>1.00</c>, <c>0.08875</c>.</summary>
    public override string ToString() =>
        ((decimal)Units / One).ToString("0.00######", CultureInfo.InvariantCulture);

    public static bool TryParse(string text, out Rate rate)
    {
        rate = Nothing;
        if (!decimal.TryParse(text, NumberStyles.AllowDecimalPoint | NumberStyles.AllowLeadingSign,
                CultureInfo.InvariantCulture, out var value) || value is < -1000 or > 1000)
        {
            return false;
        }

        var units = value * One;
        if (units != decimal.Truncate(units)) { return false; }
        rate = new Rate((long)units);
        return true;
    }

    public static Rate Parse(string text) =>
        TryParse(text, out var rate) ? rate : throw new FormatException($"'{text}' is not a rate of at most eight decimals.");

    /// <summary>The same of a product that is not below zero and stays within 64 bits: twice it might not.</summary>
    private static long Rounded(long product, long divisor)
    {
        var (quotient, rest) = Math.DivRem(product, divisor);
        return rest >= divisor - rest ? quotient + 1 : quotient;
    }

    private static long Rounded(Int128 product, long divisor)
    {
        var size = product < 0 ? -product : product;
        var quotient = ((size * 2) + divisor) / ((Int128)divisor * 2);
        return (long)(product < 0 ? -quotient : quotient);
    }
}
