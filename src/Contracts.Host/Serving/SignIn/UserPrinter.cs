using System.Text.Json;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Store.Callers;
using NodaTime;
using NodaTime.Text;
using Spectre.Console;

namespace Contracts.Host.Serving.SignIn;

/// <summary>People as a table or as data.</summary>
internal static class UserPrinter
{
    public static void Print(IReadOnlyList<Person> people, OutputFormat format)
    {
        switch (format)
        {
            case OutputFormat.Table:
                var table = AccountPrinter.Plain().AddColumns("name", "role", "let in (UTC)", "by", "password of (UTC)", "state");
                foreach (var one in people)
                {
                    table.AddRow(
                        Markup.Escape(one.Name), one.Role, $"{one.MadeAt:uuuu-MM-dd HH:mm}", Markup.Escape(one.MadeBy), $"{one.PasswordSetAt:uuuu-MM-dd HH:mm}", State(one));
                }

                AnsiConsole.Write(table);
                break;
            case OutputFormat.Csv:
                Console.Out.WriteLine("name,role,madeAt,madeBy,passwordSetAt,state");
                foreach (var one in people)
                {
                    Console.Out.WriteLine(string.Join(
                        ',', AccountCsv.Cell(one.Name), one.Role, Iso(one.MadeAt), AccountCsv.Cell(one.MadeBy), Iso(one.PasswordSetAt), State(one)));
                }

                break;
            case OutputFormat.Jsonl:
                foreach (var one in people) { Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, one))); }
                break;
            case OutputFormat.Json:
                Console.Out.WriteLine(AccountPrinter.Json(json =>
                {
                    json.WriteStartArray();
                    foreach (var one in people) { Write(json, one); }
                    json.WriteEndArray();
                }));
                break;
            default:
                throw new ArgumentOutOfRangeException(nameof(format));
        }
    }

    private static void Write(Utf8JsonWriter json, Person person)
    {
        json.WriteStartObject();
        json.WriteString("name", person.Name);
        json.WriteString("role", person.Role);
        json.WriteString("madeAt", Iso(person.MadeAt));
        json.WriteString("madeBy", person.MadeBy);
        json.WriteString("passwordSetAt", Iso(person.PasswordSetAt));
        if (person.DisabledAt is { } at)
        {
            json.WriteString("disabledAt", Iso(at));
            json.WriteString("disabledBy", person.DisabledBy);
        }

        json.WriteString("state", State(person));
        json.WriteEndObject();
    }

    private static string State(Person person) => person.DisabledAt is null ? "in" : "out";

    private static string Iso(Instant at) => InstantPattern.ExtendedIso.Format(at);
}
