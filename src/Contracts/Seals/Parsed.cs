using System.Diagnostics.CodeAnalysis;

namespace Contracts.Seals;

/// <summary>
/// What came of reading something foreign: a value, or the fault that stopped it. Foreign input never throws, so
/// that a bundle made to be hostile is refused in the same way as one that was damaged.
/// </summary>
public readonly struct Parsed<T>
    where T : notnull
{
    private readonly T? value;

    private Parsed(T? value, SealFault? fault) => (this.value, Fault) = (value, fault);

    /// <summary>What is wrong, or null when there is a value.</summary>
    public SealFault? Fault { get; }

    public bool IsGood => Fault is null;

    /// <summary>The value; asking for it where there is a fault is a mistake of the caller and throws.</summary>
    public T Value => Fault is null ? value! : throw new InvalidOperationException(Fault.ToString());

    public static implicit operator Parsed<T>(T value) => new(value, null);

    public static implicit operator Parsed<T>(SealFault fault) => new(default, fault);

    public bool TryGet([NotNullWhen(true)] out T? found, [NotNullWhen(false)] out SealFault? fault)
    {
        (found, fault) = (value, Fault);
        return Fault is null;
    }
}
