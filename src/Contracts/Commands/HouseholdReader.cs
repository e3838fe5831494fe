using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Households;

namespace Contracts.Commands;

/// <summary>Reads what is told of a family: a closed list of facts, so that nothing is kept which nobody decided to keep.</summary>
internal static class HouseholdReader
{
    /// <summary>More students than this are a typing error.</summary>
    private const int MostStudents = 12;

    public static Command.DescribeHousehold Describe(Fields fields, CommandOrigin origin)
    {
        var facts = ImmutableArray.CreateBuilder<PersonalFact>();
        Add(facts, fields.Object("facts"), PersonalFact.OfPayer, static name => name);
        var number = 0;
        foreach (var student in fields.List("students"))
        {
            if (++number > MostStudents) { throw new Unreadable(RefusalCode.FieldInvalid, $"A household has at most {MostStudents} students.", "students"); }
            var mine = number;
            Add(facts, student, PersonalFact.OfStudent, name => PersonalFact.OfStudentNumber(mine, name));
        }

        if (facts.Count == 0) { throw new Unreadable(RefusalCode.FieldMissing, "'facts' says nothing.", "facts"); }
        return new Command.DescribeHousehold(fields.Text("household"), facts.ToImmutable()) { Origin = origin };
    }

    private static void Add(ImmutableArray<PersonalFact>.Builder facts, Fields fields, IReadOnlyList<string> names, Func<string, string> nameOf)
    {
        foreach (var name in names)
        {
            if (fields.OptionalText(name) is not { } value) { continue; }
            var fact = new PersonalFact(nameOf(name), value);
            if (HouseholdDesk.Fault(fact) is { } refusal) { throw new Unreadable(refusal.Code, refusal.Detail, fact.Name); }
            facts.Add(fact);
        }
    }
}
