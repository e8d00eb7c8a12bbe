// hourhinge device edit KEY=VALUE...: rig values changed at the site. The keys and the checks are those of the rig
// file:
// the change is first made to the text of the file that the controller stores, and read as any rig file is.

using System.CommandLine;
using System.Text;
using Hourhinge.App.Common;
using Hourhinge.App.Link;
using Hourhinge.Rig;
using Hourhinge.SharedMath.Rig;

namespace Hourhinge.App.Device;

internal static class DeviceEdit
{
    private const string FileName = "the controller's rig file";

    // A small controller compiles for seconds.
    private const int CompileMs = 60000;
    private const int UsualMs = 5000;

    public static Command Create()
    {
        var changes = new Argument<string[]>("KEY=VALUE")
        {
            Description = "Values of the rig file, such as hinge.nut_arm_mm=246.4, rod.thread=M6 or "
                + $"{PeriodicEdit.Form}; none lists them.",
            Arity = ArgumentArity.ZeroOrMore,
        };
        var cancel = new Option<bool>("--cancel") { Description = "Discard an edited copy that waits." };
        var write = new Option<FileInfo?>("--write")
        {
            Description = "Also write the rig file with the changes into FILE, for the next upload.",
            HelpName = "FILE",
        };
        Option<string> to = SharedOptions.To();
        Option<bool> night = SharedOptions.Night();
        var command = new Command("edit", "Change rig values on the controller, with the rig file's checks.")
        {
            changes, cancel, write, to, night,
        };
        command.SetAction(parsed =>
        {
            string[] typed = parsed.GetValue(changes) ?? [];
            FileInfo? file = parsed.GetValue(write);
            AtomicFile.Check(file, "--write");
            if (parsed.GetValue(cancel) && (typed.Length > 0 || file != null))
            {
                throw new InputException("--cancel: takes no KEY=VALUE and no --write.");
            }

            PeriodicEdit[] terms = [.. typed.Select(PeriodicEdit.Parse).OfType<PeriodicEdit>()];
            RigChange[] wanted = [.. typed.Where(t => PeriodicEdit.Parse(t) == null).Select(Parse)];
            if (terms.Length > 0 && file != null)
            {
                throw new InputException("--write: a periodic error cannot be written this way; edit the rig file.");
            }

            using ControllerLink link = ControllerLink.Open(parsed.GetRequiredValue(to));
            if (parsed.GetValue(cancel))
            {
                link.Command("RIG:CANCel", "`edit --cancel`");
                ConsoleOutput.WriteLine("Nothing is edited.");
                return ExitCode.Done;
            }

            var theme = new Theme(parsed.GetValue(night));
            if (typed.Length == 0)
            {
                List(link, theme);
                return file == null ? ExitCode.Done : throw new InputException("--write: needs a KEY=VALUE.");
            }

            Change(link, wanted, terms, file, theme);
            return ExitCode.Done;
        });
        return command;
    }

    /// <summary>A change from "table.key=value". Words need no quotes, numbers may carry a unit.</summary>
    internal static RigChange Parse(string typed)
    {
        int equals = typed.IndexOf('=', StringComparison.Ordinal);
        int dot = typed.IndexOf('.', StringComparison.Ordinal);
        string table = dot > 0 && dot < equals ? typed[..dot].Trim() : "";
        string name = equals > 0 ? typed[(dot < equals ? dot + 1 : 0)..equals].Trim() : typed;
        if (equals < 0 && RigKeys.All.Any(k => $"{k.Table}.{k.Key}" == typed))
        {
            throw new InputException($"{typed}: write key and value as one word, {typed}=VALUE, or in quotes.");
        }

        RigFileKey? key = RigKeys.All.FirstOrDefault(k => k.Table == table && k.Key == name && k.Header != null);
        if (equals < 0 || key == null)
        {
            IEnumerable<string> known = RigKeys.All.Where(k => k is { Header: not null } && !k.Table.EndsWith(']'))
                .Select(k => $"{k.Table}.{k.Key}");
            string near = string.Join(", ", known.Where(k => name.Length > 2
                && k.Contains(name, StringComparison.OrdinalIgnoreCase)).Take(4));
            throw new InputException($"{typed}: must be KEY=VALUE with a key that the controller holds"
                + (near.Length > 0 ? $"; did you mean {near}?" : "; `device edit` without one lists them."));
        }

        if (key.Table.EndsWith(']'))
        {
            throw new InputException($"{typed}: give a periodic error as {PeriodicEdit.Form}.");
        }

        string value = typed[(equals + 1)..].Trim();
        bool isPlain = key.Kind is KeyKind.Flag or KeyKind.Pairs || value.StartsWith('"')
            || double.TryParse(value, System.Globalization.NumberStyles.Float,
                System.Globalization.CultureInfo.InvariantCulture, out _);
        if (value.Any(c => c is < ' ' or > '~' or '\\' or '#') || value.Length is 0 or > 100
            || (!isPlain && value.Contains('"', StringComparison.Ordinal)))
        {
            throw new InputException($"{typed}: the value must be {key.Allowed()}.");
        }

        // "60/20" or "60/20,52/17" for pairs of teeth.
        if (key.Kind == KeyKind.Pairs && !value.StartsWith('['))
        {
            value = $"[{string.Join(", ", value.Split(',').Select(p => $"[{p.Replace('/', ',')}]"))}]";
        }

        return new RigChange(key.Table, key.Key, isPlain && key.Kind != KeyKind.Text && key.Kind != KeyKind.Word
            ? value : $"\"{value.Trim('"')}\"");
    }

    private static void Change(ControllerLink link, RigChange[] wanted, PeriodicEdit[] terms, FileInfo? file,
        Theme theme)
    {
        if (link.Query("PROFile:SLOT?").StartsWith('-'))
        {
            throw new DeviceException("the controller holds no profile and no rig file yet: upload one.");
        }

        if (link.Query("RIG:CHANged?") != "0")
        {
            throw new DeviceException("an edited copy waits on the controller, perhaps from a terminal: RIG:APPLy it "
                + "there, or discard it with: hourhinge device edit --cancel");
        }

        string text = Encoding.UTF8.GetString(link.QueryBlock("RIG:DATA?"));
        if (text.Length == 0)
        {
            throw new DeviceException("the controller stores no rig file to check the change with; upload one.");
        }

        RigEdit edit = RigEditor.PlanText(FileName, text, wanted);
        RigParameters before = RigDrive.Parameters(RigReader.Read(FileName, text));
        RigDescription changed = RigReader.Read(FileName, edit.After);
        RigParameters after = RigDrive.Parameters(changed);
        Array.ForEach(terms, t => t.Apply(after));
        RigParameters held = ControllerRig.Read(link);
        int[] edited = [.. ControllerRig.Headers().SelectMany(ControllerRig.Indices)];
        bool isFileCurrent = edited.All(i => before.Values[i] == held.Values[i]);
        if (file != null && !isFileCurrent)
        {
            throw new InputException("--write: the controller was edited before, so its rig file is older than its "
                + "values; change a file of your own and upload it.");
        }

        string[] named = [.. wanted.Select(c => RigKeys.Get(c.Table, c.Key).Header!.Split(',')[0])
            .Select(h => h == "RIG:THRead" ? "RIG:PITCh" : h)];
        int[] indices = [.. edited.Where(i => before.Values[i] != after.Values[i]
            || named.Contains(RigParameters.KeyOf(i).Header) || terms.Any(t => t.Sets(i)))];
        Send(link, [.. ControllerRig.Commands(indices, after, changed)], indices, after);
        int[] differing = [.. indices.Where(i => held.Values[i] != after.Values[i])];
        Spectre.Console.Table table = theme.Table("Changed on the controller", "value", "was", "is");
        Array.ForEach(differing, i => theme.Row(table, RigParameters.KeyOf(i).Key, Shown(held, i), Shown(after, i)));
        if (differing.Length > 0)
        {
            Theme.Show(table);
        }
        else
        {
            ConsoleOutput.WriteLine("Nothing changed: the controller held these values already.");
        }

        if (file != null)
        {
            AtomicFile.Write(file, "--write", edit.After);
            ConsoleOutput.WriteRemark($"Wrote {file}; upload it to store file and profile together.");
        }
        else if (edited.Any(i => before.Values[i] != after.Values[i]))
        {
            ConsoleOutput.WriteRemark(
                "The rig file on the controller still has the earlier values, and the next upload replaces these.");
        }
    }

    private static void Send(ControllerLink link, string[] commands, int[] indices, RigParameters wanted)
    {
        try
        {
            foreach (string command in commands)
            {
                link.Command(command, $"`edit` ({command})");
            }

            RigParameters copy = ControllerRig.Read(link);
            if (indices.FirstOrDefault(i => copy.Values[i] != wanted.Values[i], -1) is var wrong and >= 0)
            {
                throw new DeviceException($"the controller read {RigParameters.KeyOf(wrong).Key} as "
                    + $"{Shown(copy, wrong)} instead of {Shown(wanted, wrong)}; nothing was changed.");
            }

            link.SetPatience(CompileMs);
            link.Command("RIG:APPLy", "`edit`");
            link.SetPatience(UsualMs);
        }
        catch (DeviceException)
        {
            link.SetPatience(UsualMs);
            link.Send("RIG:CANCel");
            throw;
        }
    }

    private static void List(ControllerLink link, Theme theme)
    {
        RigParameters rig = ControllerRig.Read(link);
        bool isStored = !link.Query("PROFile:SLOT?").StartsWith('-');
        bool isEdited = link.Query("RIG:CHANged?") != "0";
        Spectre.Console.Table table = theme.Table(isEdited ? "Edited copy, not applied yet"
            : isStored ? "Rig values on the controller" : "Defaults: no profile is stored", "value", "is", "range");
        for (int i = 0; i < RigParameters.Count; i++)
        {
            RigKey key = RigParameters.KeyOf(i);
            if (key.Header != null)
            {
                int term = (i - RigParameters.Periodic) / 3;
                string name = key.Header == "RIG:PERiodic"
                    ? $"{term + 1}: {key.Key["periodic.".Length..]}"
                    : key.Key;
                theme.Row(table, name, Shown(rig, i), key.Words != null ? string.Join(", ", key.Words)
                    : IsFlag(key) ? "true, false" : key.Range());
            }
        }

        Theme.Show(table);
    }

    private static string Shown(RigParameters rig, int index)
    {
        RigKey key = RigParameters.KeyOf(index);
        return key.Words != null ? key.Words[(int)rig.Values[index]]
            : IsFlag(key) ? (rig.Values[index] == 1 ? "true" : "false")
            : $"{RigParameters.Format(rig.Values[index], key.Scale)} {key.Unit}".TrimEnd();
    }

    private static bool IsFlag(RigKey key) => key is { Unit: "", Min: 0, Max: 1, Words: null };
}
