namespace Contracts.Households;

/// <summary>One thing that is known of a family and that no event holds in clear.</summary>
/// <param name="Name">Which, such as <c>name</c> or <c>student.1.school</c>.</param>
/// <param name="Value">What was told.</param>
public sealed record PersonalFact(string Name, string Value)
{
    private const string Student = "student.";

    /// <summary>What may be kept of the adult the contract is with.</summary>
    public static IReadOnlyList<string> OfPayer { get; } = ["name", "address", "phone", "email"];

    /// <summary>What may be kept of a student, who is mostly a minor: nothing that the rental does not need.</summary>
    public static IReadOnlyList<string> OfStudent { get; } = ["name", "school", "grade", "teacher"];

    /// <summary>Whether it is about a student.</summary>
    public bool IsOfStudent => Name.StartsWith(Student, StringComparison.Ordinal);

    /// <summary>The name of a fact about a student, who are numbered from 1.</summary>
    public static string OfStudentNumber(int number, string name) => $"{Student}{number}.{name}";

    /// <summary>
    /// Whether the value holds what could be the number of a payment card: 13 to 19 digits in a row, however they are spaced, that pass
    /// the check digit of ISO/IEC 7812-1 (Luhn). PCI DSS 3.5.1 does not let such a number be kept readable, and nothing here needs it.
    /// </summary>
    public bool MayHoldCardNumber
    {
        get
        {
            // Groups of digits; a number begins and ends where one of them does. Full-width digits count: typed on another keyboard it is the same number.
            var groups = new List<int[]>();
            var group = new List<int>();
            foreach (var letter in Value + "|")
            {
                if (char.IsDigit(letter))
                {
                    group.Add((int)char.GetNumericValue(letter));
                    continue;
                }

                if (group.Count > 0) { groups.Add([.. group]); }
                group.Clear();
                if (letter is ' ' or '-' or '.' or '\u00a0' or '\u2010' or '\u2011' or '\u2013') { continue; }
                if (HasCard(groups)) { return true; }
                groups.Clear();
            }

            return false;
        }
    }

    private static bool HasCard(List<int[]> groups)
    {
        for (var first = 0; first < groups.Count; first++)
        {
            var digits = new List<int>();
            for (var last = first; last < groups.Count && digits.Count <= 19; last++)
            {
                digits.AddRange(groups[last]);
                if (digits.Count is >= 13 and <= 19 && Passes(digits)) { return true; }
            }
        }

        return false;
    }

    private static bool Passes(List<int> digits)
    {
        var sum = 0;
        for (var index = 0; index < digits.Count; index++)
        {
            var digit = digits[^(index + 1)];
            var doubled = digit * 2;
            sum += index % 2 == 0 ? digit : doubled > 9 ? doubled - 9 : doubled;
        }

        return sum > 0 && sum % 10 == 0;
    }
}
