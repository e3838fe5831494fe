using System.Reflection;
using Contracts.Store;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Storing;

/// <summary>
/// No event has a number that could be written with a fraction: amounts and rates are strings, all other numbers are
/// whole. So its canonical JSON, which the log seals, is the same after the database as before.
/// </summary>
public sealed class EventNumberTests
{
    private static readonly HashSet<Type> Written =
        [typeof(string), typeof(bool), typeof(int), typeof(long), typeof(Money), typeof(Rate), typeof(LocalDate), typeof(YearMonth), typeof(Instant)];

    [Fact]
    public void No_event_holds_a_number_with_a_fraction()
    {
        var (seen, waiting) = (new HashSet<Type>(), new Queue<(Type Type, string From)>(EventNames.All.Select(pair => (pair.Type, pair.Name))));
        while (waiting.TryDequeue(out var item))
        {
            if (!seen.Add(item.Type)) { continue; }
            foreach (var property in item.Type.GetProperties(BindingFlags.Public | BindingFlags.Instance))
            {
                var from = $"{item.From}.{property.Name}";
                foreach (var part in Parts(property.PropertyType))
                {
                    Assert.False(part == typeof(double) || part == typeof(float) || part == typeof(decimal) || part == typeof(Half), $"{from} is a {part.Name}.");
                    if (Written.Contains(part) || part.IsEnum) { continue; }
                    Assert.True(part.Namespace?.StartsWith("Contracts", StringComparison.Ordinal) == true, $"{from} is a {part.FullName}; is it written with whole numbers only?");
                    waiting.Enqueue((part, from));
                }
            }
        }

        Assert.True(seen.Count > EventNames.All.Count, "Nothing was looked at below the events.");
    }

    /// <summary>The type itself, or what a nullable or a list is of.</summary>
    private static IEnumerable<Type> Parts(Type type)
    {
        if (type.IsArray) { return Parts(type.GetElementType()!); }
        return type.IsGenericType && type.Namespace!.StartsWith("System", StringComparison.Ordinal) ? type.GetGenericArguments().SelectMany(Parts) : [type];
    }
}
